// The robot around the launcher: each change is kept at once, and its part is drawn anew.
import { followJob, notice, onMessage, post, refreshParts, runJob } from "/static/app.js";
import { keepForms, keepText } from "/static/kept_form.js";

const byId = id => document.getElementById(id);
const reload = () => location.reload();
const root = byId("robot");

if (root) begin();
else {
  byId("start").addEventListener("click", async () => {
    const { ok, data } = await post("/robot/start");
    if (ok) reload(); else notice(data.message, 8);
  });
  let known = byId("asks").dataset.mark;
  onMessage(message => {
    if (!("changed" in message)) return;
    if (known !== message.changed) reload();
    known = message.changed;
  });
}

function begin() {
  const { showFaults, freshForm } = keepForms({
    forms: [...root.querySelectorAll("form.parts")], page: "/robot", home: "/robot", save: "/robot/save", text: byId("robot-text"),
    saved: () => freshForm(),
  });
  keepText(byId("robot-text"), "/robot/text", reload);
  byId("drop").addEventListener("click", async () => {
    const { ok, data } = await post("/robot/drop");
    if (ok) reload(); else notice(data.message, 8);
  });
  root.addEventListener("click", async event => {
    const leads = event.target.closest(".jump a")?.hash;
    if (leads && byId(leads.slice(1)).tagName === "DETAILS") byId(leads.slice(1)).open = true;
    const button = event.target.closest("button");
    const { add, remove, again } = button?.dataset || {};
    if (add || remove) {
      const { ok, data } = await post(add ? "/robot/add" : "/robot/remove", { table: add || remove });
      if (ok) { reload(); return; }
      showFaults(data.faults || []);
      notice(data.message, 8);
    }
    if (again !== undefined) refreshParts(button.closest("section"));
    if ("hits" in (button?.dataset || {})) {
      const place = document.createElement("div"), section = button.closest("section");
      button.replaceWith(place);
      const job = await runJob("/robot/hits", {}, place);
      if (job) refreshParts(section); else place.replaceWith(button);
    }
  });
  // A part that takes longer than a moment comes with the work that computes it.
  root.addEventListener("refreshed", async event => {
    const work = event.target.querySelector("[data-follow]");
    if (!work) return;
    const job = await followJob({ name: work.dataset.follow, title: work.dataset.title, state: "running", fraction: 0, step: "" }, work);
    if (!work.isConnected) return;  // drawn anew meanwhile
    if (job) refreshParts(event.target.closest("section"));
    else work.innerHTML = '<button type="button" data-again>Work it out</button>';
  });
}
