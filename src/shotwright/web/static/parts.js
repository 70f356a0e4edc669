// A part to cut: drawn while its numbers change, exactly on demand, kept, and handed over as a file.
import { clearErrors, latest, notice, post, refreshParts, showUndo } from "/static/app.js";

const byId = id => document.getElementById(id);
const form = byId("part");
const line = (tag, text, kind = "") => Object.assign(document.createElement(tag), { textContent: text, className: kind });
let exact = false;

function faults(data) {
  // Each problem stands beside its field where it names one; the rest in a list.
  const rest = [];
  for (const text of data.messages || [data.message]) {
    const [, key, words] = text.match(/^(\w+): (.*)$/s) || [];
    const input = key && form.elements.namedItem(key), place = input && byId(`${input.id}-error`);
    if (place) { place.textContent = words; place.hidden = false; input.setAttribute("aria-invalid", "true"); }
    else rest.push(text);
  }
  byId("faults").replaceChildren(...rest.map(text => line("li", text)));
}

function row([name, value]) {
  const made = document.createElement("tr"), head = line("th", name);
  head.scope = "row";
  made.append(head, line("td", value));
  return made;
}

const look = latest(async () => {
  const wanted = exact;
  const [width, torque] = ["drawing", "torque"].map(id => Math.round(byId(id).clientWidth));
  if (wanted) byId("state").textContent = "Drawing exactly …";
  const { ok, data } = await post(`/parts/look?${new URLSearchParams({ width, torque, exact: wanted ? "1" : "0" })}`, new FormData(form));
  clearErrors(form);
  byId("faults").hidden = false;
  if (!ok) { byId("faults").replaceChildren(); faults(data); byId("state").textContent = "The drawing shows what was typed before."; return; }
  byId("faults").replaceChildren();
  byId("drawing").innerHTML = data.drawing_svg;
  byId("torque").innerHTML = data.torque_svg;
  // A part that turns a shaft gives the curve a place beside it: then both are drawn again for their new room.
  const pair = byId("pair"), both = pair.classList.contains("both");
  if (pair.classList.toggle("both", data.torque_svg !== "") !== both) look();
  byId("rows").replaceChildren(...data.rows.map(row));
  byId("words").replaceChildren(...data.words.map(text => line("p", text)), ...data.cautions.map(text => line("p", text, "caution")));
  byId("state").textContent = data.exact ? "Drawn exactly." : "A preview; the files are exact.";
  form.dataset.exact = data.exact ? "yes" : "no";
  for (const button of document.querySelectorAll("[data-file]")) button.disabled = data.drawings === 0;
});

let pause;
form.addEventListener("input", () => { exact = false; clearTimeout(pause); pause = setTimeout(look, 60); });
form.addEventListener("submit", async event => {
  event.preventDefault();
  const { ok, data } = await post("/parts/keep", new FormData(form));
  clearErrors(form);
  byId("faults").hidden = false;
  if (!ok) { faults(data); return; }
  notice(data.words[0]);
  showUndo(data.undo);
  refreshParts();
});
byId("kind").addEventListener("change", () => { location.href = `/parts?${new URLSearchParams({ kind: byId("kind").value })}`; });
byId("from")?.addEventListener("change", () => { location.href = `/parts?${new URLSearchParams({ kind: byId("kind").value, prototype: byId("from").value })}`; });
byId("exact").addEventListener("click", () => { exact = true; look(); });

byId("files").addEventListener("click", async event => {
  const button = event.target.closest("[data-file]");
  if (!button) return;
  button.disabled = true;
  try {
    const answer = await fetch(`/parts/file/${button.dataset.file}?${new URLSearchParams({ paper: byId("paper").value })}`, { method: "POST", body: new FormData(form) });
    if (!answer.ok) { faults(await answer.json()); notice("No file: see what is marked."); return; }
    const name = /filename="([^"]+)"/.exec(answer.headers.get("content-disposition") || "")?.[1] || `part.${button.dataset.file}`;
    const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(await answer.blob()), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  } catch {
    notice("The laptop does not answer; try again.");
  } finally { button.disabled = false; }
});

byId("kept-parts").addEventListener("click", async event => {
  const button = event.target.closest("[data-remove]");
  if (!button) return;
  const { ok, data } = await post("/parts/remove", { part: button.dataset.remove });
  notice(ok ? data.words[0] : data.message);
  if (ok) showUndo(data.undo);
  refreshParts();
});

look();
