// Hit probabilities are computed once for a state of the project; weighing them again is quick.
import { ask, clearErrors, latest, notice, onMessage, post, runJob, showError } from "/static/app.js";

const byId = id => document.getElementById(id);
const root = byId("choice");
if (root) begin();

function begin() {
  const weigh = byId("weigh"), shown = byId("shown"), work = byId("work");
  const width = () => Math.round(root.clientWidth);

  const rank = latest(async () => {
    clearErrors(weigh);
    const { ok, data } = await post(`/choice/ranking?width=${width()}`, new FormData(weigh));
    if (ok) byId("ranking").innerHTML = data;
    else if (data.field === "standing") stale();
    else { byId("weights-error").textContent = data.message; byId("weights-error").hidden = false; }
  });
  async function show() {
    shown.hidden = false;
    work.replaceChildren();
    await rank();
    const { ok, data } = await ask(`/choice/hits?width=${width()}`);
    if (ok) byId("hits").innerHTML = data;
  }
  async function compute() {
    const job = await runJob("/choice/compute", {}, work);
    if (job) await show(); else stale();
  }
  function stale() {
    const words = Object.assign(document.createElement("p"), { textContent: shown.hidden ? "Hit probabilities fly many thousand balls for each prototype and firing position." : "Shots or game have changed since this was computed." });
    const button = Object.assign(document.createElement("button"), { type: "button", className: "main", textContent: shown.hidden ? "Compute hit probabilities" : "Compute again" });
    button.addEventListener("click", compute);
    work.replaceChildren(words, button);
  }
  onMessage(async message => {
    if (!("changed" in message) || shown.hidden) return;
    const { ok, data } = await ask("/choice/state");
    if (ok && !data.ready) stale();
  });
  weigh.addEventListener("input", event => {
    byId("sliders").hidden = weigh.elements.weighing.value !== "own";
    const said = event.target.id && byId(event.target.id.replace("weight-", "say-"));
    if (said) said.textContent = event.target.value;
    rank();
  });
  weigh.addEventListener("submit", event => event.preventDefault());
  byId("record").addEventListener("submit", async event => {
    event.preventDefault();
    clearErrors(byId("record"));
    const body = new FormData(byId("record"));
    for (const [name, value] of new FormData(weigh)) body.append(name, value);
    const { ok, data } = await post("/choice/record", body);
    if (!ok) { showError(byId("record"), data.field === "decide" ? "reason" : data.field, data.message); return; }
    notice(data.words[0]);
    rank();
  });
  let room = width();
  addEventListener("resize", latest(async () => { if (Math.abs(width() - room) > 40 && !shown.hidden) { room = width(); await show(); } }));
  if (root.dataset.ready === "yes") show(); else compute();
}
