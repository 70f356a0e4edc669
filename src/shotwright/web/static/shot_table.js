// A table is built once for a state of the project; its forms are of the table that is shown.
import { ask, clearErrors, notice, onMessage, post, runJob } from "/static/app.js";

const byId = id => document.getElementById(id);
const root = byId("shot-table");
if (root) begin();

function begin() {
  const form = byId("ask"), work = byId("work"), shown = byId("shown"), table = byId("table");

  async function show() {
    const { ok, data } = await ask(`/shot-table/table?width=${Math.round(root.clientWidth)}`);
    shown.hidden = !ok;
    if (ok) { table.innerHTML = data; work.replaceChildren(); }
  }
  form.addEventListener("submit", async event => {
    event.preventDefault();
    clearErrors(form);
    const job = await runJob("/shot-table/compute", new FormData(form), work);
    if (job) await show();
  });
  byId("keep").addEventListener("click", async () => {
    const { ok, data } = await post("/shot-table/keep");
    notice(ok ? data.words[0] : data.message, 6);
  });
  onMessage(async message => {
    if (!("changed" in message) || shown.hidden) return;
    const { ok } = await ask("/shot-table/table?width=320");
    if (!ok) work.textContent = "Shots or game have changed since this was built; build it again.";
  });
  if (root.dataset.ready === "yes") show();
}
