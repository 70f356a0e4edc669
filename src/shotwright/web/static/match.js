// The match file is kept first, then its plans are simulated; what is shown is always of the kept file.
import { ask, clearErrors, notice, onMessage, post, runJob, showError, showUndo } from "/static/app.js";

const byId = id => document.getElementById(id);
const root = byId("match");
if (root) begin();

function begin() {
  const file = byId("file"), work = byId("work"), plans = byId("plans");

  async function show() {
    const { ok, data } = await ask(`/match/plans?width=${Math.round(root.clientWidth)}`);
    if (ok) { plans.innerHTML = data; work.replaceChildren(); }
    return ok;
  }
  async function compute() {
    plans.replaceChildren();
    const job = await runJob("/match/compute", {}, work);
    if (job && !(await show())) work.textContent = "The project has changed meanwhile; simulate again.";
  }
  file.addEventListener("submit", async event => {
    event.preventDefault();
    clearErrors(file);
    const { ok, data } = await post("/match/save", new FormData(file));
    if (!ok) {
      showError(file, data.field, data.message);
      const faults = byId("faults"), more = (data.faults || []).slice(1);
      faults.hidden = !more.length;
      faults.replaceChildren(...more.map(words => Object.assign(document.createElement("li"), { textContent: words })));
      return;
    }
    notice(data.words[0]);
    if (data.undo) showUndo(data.undo);
    await compute();
  });
  onMessage(async message => {
    if (!("changed" in message) || !plans.childElementCount) return;
    const { ok } = await ask("/match/plans?width=320");
    if (!ok) work.textContent = "Shots, game or match file have changed since this was simulated.";
  });
  if (root.dataset.ready === "yes") show(); else if (root.dataset.kept === "yes") compute();
}
