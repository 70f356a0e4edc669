// A launcher on paper: the answer follows the typing; keeping it writes the launcher file.
import { ask, latest, notice, post, runJob, showUndo } from "/static/app.js";

const byId = id => document.getElementById(id);
const root = byId("launcher");
if (root) begin();

function begin() {
  const form = byId("dimensions"), prototype = root.dataset.prototype;
  const go = changes => { location.href = `/prototypes?${new URLSearchParams({ prototype, ...changes })}`; };
  byId("which").addEventListener("change", () => { location.href = `/prototypes?${new URLSearchParams({ prototype: byId("which").value })}`; });
  byId("kind").addEventListener("change", () => go({ kind: byId("kind").value }));
  const line = (tag, text, kind = "") => Object.assign(document.createElement(tag), { textContent: text, className: kind });
  const faults = (place, data) => place.replaceChildren(...(data.messages || [data.message]).map(text => line("li", text.replace(/^form, \[\[launcher\]\] 1 "[^"]*",? ?/, ""))));

  const look = latest(async () => {
    if (form && [...form.querySelectorAll(".amount, .field")].some(box => box.querySelector(".needed") && !box.querySelector("input, select").value.trim())) return;
    const { ok, data } = await post(`/prototypes/look?width=${byId("drawing").clientWidth}`, new FormData(form || byId("launcher-text")));
    const wrong = byId("faults") || byId("text-faults");
    if (!ok) { faults(wrong, data); return; }
    wrong.replaceChildren();
    byId("drawing").innerHTML = data.drawing_svg;
    byId("release").replaceChildren(...data.words.map(text => line("p", text)), ...data.cautions.map(text => line("p", text, "caution")));
  });
  let pause;
  (form || byId("launcher-text")).addEventListener("input", () => { clearTimeout(pause); pause = setTimeout(look, 250); });
  form?.addEventListener("submit", async event => {
    event.preventDefault();
    const { ok, data } = await post("/prototypes/save", new FormData(form));
    if (!ok) { faults(byId("faults"), data); return; }
    byId("faults").replaceChildren();
    notice(data.words[0]);
    showUndo(data.undo);
  });
  byId("launcher-text").addEventListener("submit", async event => {
    event.preventDefault();
    const { ok, data } = await post("/prototypes/text", new FormData(byId("launcher-text")));
    if (ok) location.reload(); else faults(byId("text-faults"), data);
  });
  byId("predict").addEventListener("click", async () => {
    const button = byId("predict"), place = byId("work");
    const job = await runJob(`/prototypes/predict?${new URLSearchParams({ prototype })}`, {}, place);
    place.replaceChildren(button);
    if (!job) return;
    const room = byId("predicted"), { ok, data } = await ask(`/prototypes/predicted?${new URLSearchParams({ prototype, width: room.clientWidth })}`);
    if (ok) room.innerHTML = data; else notice(data.message, 8);
  });
  look();
}
