// Forms whose every change is kept at once: faults beside their fields, what others changed taken over.
import { ask, latest, onMessage, post, showUndo } from "/static/app.js";

const byId = id => document.getElementById(id);
const line = text => Object.assign(document.createElement("li"), { textContent: text });

/**
 * Keep the fields of `forms` as they change. `page` is the page's own address, `save` where changes go,
 * `text` the form of the file as text. `saved(data)` is called after each save, `changed()` when the project
 * changed, whoever changed it. Returns {showFaults, freshForm}.
 */
export function keepForms({ forms, page, home, save: path, text, saved = () => {}, changed = () => {} }) {
  const each = selector => forms.flatMap(form => [...form.querySelectorAll(selector)]);
  const first = selector => each(selector)[0];
  const holdsFocus = () => [...forms, text].some(form => form.contains(document.activeElement));

  function showWhen() {
    for (const group of each("[data-group]:has([data-when])")) {
      const by = group.querySelector("select").value;
      for (const part of group.querySelectorAll("[data-when]")) part.hidden = part.dataset.when !== by;
    }
  }
  function placeOf(field) {
    for (let key = field; key; key = key.includes(".") ? key.slice(0, key.lastIndexOf(".")) : "") {
      const input = first(`[name="${CSS.escape(key)}"]`);
      if (input) return byId(`${input.id}-error`);
    }
    return null;
  }
  function showFaults(faults) {
    for (const place of each("p.error")) { place.hidden = true; place.textContent = ""; delete place.dataset.said; }
    for (const input of each("[aria-invalid=true]")) input.removeAttribute("aria-invalid");
    const loose = [];
    for (const { field, message } of faults) {
      const place = placeOf(field);
      if (!place) { loose.push(line(`${field ? `${field}: ` : ""}${message}`)); continue; }
      place.textContent = message;
      place.hidden = false;
      place.dataset.said = "";
      byId(place.id.replace(/-error$/, "")).setAttribute("aria-invalid", "true");
      const folded = place.closest("details:not([open])");
      if (folded) folded.open = true;
    }
    byId("faults").replaceChildren(...loose);
  }

  let typed = 0, held = 0;  // changes so far, and how many of them the project holds
  const save = latest(async () => {
    const sent = typed, all = new FormData();
    for (const form of forms) for (const [name, value] of new FormData(form)) all.append(name, value);
    const { ok, data } = await post(path, all);
    const faults = ok ? [] : data.faults || [{ field: data.field, message: data.message }];
    showFaults(faults);
    byId("kept").textContent = ok ? "Kept." : `Not kept yet: ${faults.length === 1 ? "one thing" : `${faults.length} things`} to mend.`;
    if (!ok) return;
    held = sent;
    showUndo(data.undo);
    saved(data);
  });
  for (const form of forms) {
    form.addEventListener("input", event => { if (event.isTrusted) typed++; });
    form.addEventListener("change", event => { if (!event.target.name) return; typed++; byId("kept").textContent = "Keeping …"; showWhen(); save(); });
    form.addEventListener("submit", event => { event.preventDefault(); save(); });
  }

  // What somebody else changed, or what was taken back, must not stand in the form any longer.
  let known = byId("asks").dataset.mark;
  onMessage(message => {
    if (!("changed" in message)) return;
    if (known !== message.changed) {
      if (typed === held && !holdsFocus()) freshForm();
      changed();
    }
    known = message.changed;
  });
  async function freshForm() {
    const { ok, data } = await ask(page, { headers: { accept: "text/html" } });
    if (!ok || typeof data !== "string") { location.href = home; return; }
    if (typed !== held) return;
    const other = new DOMParser().parseFromString(data, "text/html");
    const fields = each("[name]");
    const theirs = forms.flatMap(form => [...(other.getElementById(form.id)?.querySelectorAll("[name]") || [])]);
    if (fields.length !== theirs.length || fields.some((field, i) => field.name !== theirs[i].name)) { location.reload(); return; }
    fields.forEach((field, i) => {
      if (field === document.activeElement) return;
      const select = theirs[i].tagName === "SELECT";
      if (select && field.innerHTML !== theirs[i].innerHTML) field.innerHTML = theirs[i].innerHTML;
      const value = select ? theirs[i].value : theirs[i].getAttribute("value") || "";
      if (field.value !== value) { field.value = value; field.dispatchEvent(new Event("input")); }
    });
    byId("text").value = other.getElementById("text").value;
    showFaults([]);
    showWhen();
  }
  showWhen();
  return { showFaults, freshForm };
}

/** Keep a file as typed; faults line by line below it. */
export function keepText(form, path, done) {
  form.addEventListener("submit", async event => {
    event.preventDefault();
    const { ok, data } = await post(path, new FormData(form));
    if (ok) done(data); else byId("text-faults").replaceChildren(...(data.messages || [data.message]).map(line));
  });
}
