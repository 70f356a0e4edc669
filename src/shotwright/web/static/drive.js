// What drives a launcher: each change is kept at once; the match, the map and the search follow.
import { ask, latest, notice, onMessage, post, refreshParts, runJob, showError, showUndo } from "/static/app.js";

const byId = id => document.getElementById(id);
const root = byId("drive");
const go = name => { location.href = `/drive?${new URLSearchParams({ drive: name })}`; };

byId("start").addEventListener("submit", async event => {
  event.preventDefault();
  const { ok, data } = await post("/drive/start", new FormData(byId("start")));
  if (ok) go(data.drive); else showError(byId("start"), data.field, data.message);
});
if (root) begin();
else {
  let known = byId("asks").dataset.mark;
  onMessage(message => {
    if (!("changed" in message)) return;
    if (known !== message.changed && !byId("n-name").value) location.reload();
    known = message.changed;
  });
}

function begin() {
  const form = byId("drive-form"), name = root.dataset.drive;
  const line = text => Object.assign(document.createElement("li"), { textContent: text });
  byId("which").addEventListener("change", () => go(byId("which").value));
  byId("drop").addEventListener("click", async () => {
    const { ok, data } = await post("/drive/drop", { drive: name });
    if (ok) location.href = "/drive"; else notice(data.message, 8);
  });

  // ---------------------------------------------------------------- the form
  function showWhen() {
    for (const group of form.querySelectorAll("[data-group^='motor.'], [data-group^='stage.']")) {
      const by = group.querySelector("select").value;
      for (const part of group.querySelectorAll("[data-when]")) part.hidden = part.dataset.when !== by;
    }
  }
  function placeOf(field) {
    for (let key = field; key; key = key.includes(".") ? key.slice(0, key.lastIndexOf(".")) : "") {
      const input = form.querySelector(`[name="${CSS.escape(key)}"]`);
      if (input) return byId(`${input.id}-error`);
    }
    return null;
  }
  function showFaults(faults) {
    for (const place of form.querySelectorAll("p.error")) { place.hidden = true; place.textContent = ""; }
    for (const input of form.querySelectorAll("[aria-invalid=true]")) input.removeAttribute("aria-invalid");
    const loose = [];
    for (const { field, message } of faults) {
      const place = placeOf(field);
      if (!place) { loose.push(line(`${field ? `${field}: ` : ""}${message}`)); continue; }
      place.textContent = message;
      place.hidden = false;
      byId(place.id.replace(/-error$/, "")).setAttribute("aria-invalid", "true");
    }
    byId("faults").replaceChildren(...loose);
  }
  let typed = 0, held = 0;  // changes so far, and how many of them the project holds
  const save = latest(async () => {
    const sent = typed;
    const { ok, data } = await post("/drive/save", new FormData(form));
    const faults = ok ? [] : data.faults || [{ field: data.field, message: data.message }];
    showFaults(faults);
    byId("kept").textContent = ok ? "Kept." : `Not kept yet: ${faults.length === 1 ? "one thing" : `${faults.length} things`} to mend.`;
    if (!ok) return;
    held = sent;
    showUndo(data.undo);
    if (data.drive !== name) { go(data.drive); return; }
  });
  form.addEventListener("input", event => { if (event.isTrusted) typed++; });
  form.addEventListener("change", event => { if (!event.target.name) return; typed++; byId("kept").textContent = "Keeping …"; showWhen(); save(); });
  form.addEventListener("submit", event => { event.preventDefault(); save(); });
  form.addEventListener("click", async event => {
    const { add, remove } = event.target.closest("button")?.dataset || {};
    if (!add && !remove) return;
    const { ok, data } = await post(add ? "/drive/add" : "/drive/remove", { drive: name, table: add || remove });
    if (ok) location.reload(); else showFaults(data.faults || [data]);
  });
  byId("drive-text").addEventListener("submit", async event => {
    event.preventDefault();
    const { ok, data } = await post("/drive/text", new FormData(byId("drive-text")));
    if (ok) go(data.drive); else byId("text-faults").replaceChildren(...(data.messages || [data.message]).map(line));
  });
  showWhen();
  // What somebody else changed, or what was taken back, must not stand in the form any longer.
  let known = byId("asks").dataset.mark;
  onMessage(message => {
    if (!("changed" in message)) return;
    const idle = typed === held && !form.contains(document.activeElement) && !byId("drive-text").contains(document.activeElement);
    if (known !== message.changed) {
      if (idle) freshForm();
      drawMap();
    }
    known = message.changed;
  });
  async function freshForm() {
    const { ok, data } = await ask(`/drive?${new URLSearchParams({ drive: name })}`, { headers: { accept: "text/html" } });
    if (!ok || typeof data !== "string") { location.href = "/drive"; return; }
    if (typed !== held) return;
    const other = new DOMParser().parseFromString(data, "text/html");
    const fields = [...form.querySelectorAll("[name]")], theirs = other.querySelectorAll("#drive-form [name]");
    if (fields.length !== theirs.length || fields.some((field, i) => field.name !== theirs[i].name)) { location.reload(); return; }
    fields.forEach((field, i) => {
      const value = theirs[i].tagName === "SELECT" ? theirs[i].querySelector("[selected]")?.textContent || theirs[i].value : theirs[i].getAttribute("value") || "";
      if (field.value !== value) { field.value = value; field.dispatchEvent(new Event("input")); }
    });
    byId("text").value = other.getElementById("text").value;
    showFaults([]);
    showWhen();
  }

  // ---------------------------------------------------------------- the map
  const room = byId("map");
  let map = null;
  const drawMap = latest(async () => {
    if (!room) return;
    const { ok, data } = await ask(`/drive/map?${new URLSearchParams({ drive: name, width: Math.round(room.clientWidth) })}`);
    if (!ok) { byId("map-words").textContent = data.message; room.replaceChildren(); map = null; return; }
    map = data;
    room.innerHTML = data.svg;
    byId("map-words").textContent = data.words;
  });
  async function look() {
    const ratio = byId("s-ratio").value, inertia = byId("s-inertia").value;
    const { ok, data } = await ask(`/drive/spot?${new URLSearchParams({ drive: name, ratio, inertia })}`);
    byId("take").hidden = !ok || !data.train;
    for (const key of ["ratio", "inertia"]) byId(`s-${key}-error`).hidden = true;
    if (!ok) { showError(byId("spot"), data.field, data.message); return; }
    byId("spot-words").replaceChildren(...data.words.map(text => Object.assign(document.createElement("p"), { textContent: text })));
    markPlace(data.ratio, data.inertia_kg_m2);
  }
  function markPlace(ratio, inertia) {
    room.querySelector(".here")?.remove();
    const svg = room.querySelector("svg");
    if (!map || !svg) return;
    const scale = svg.clientWidth / svg.viewBox.baseVal.width || 1;
    const across = (ratio - map.ratios[0]) / (map.ratios[1] - map.ratios[0]);
    const up = (inertia - map.inertias_kg_m2[0]) / (map.inertias_kg_m2[1] - map.inertias_kg_m2[0]);
    if (across < 0 || across > 1 || up < 0 || up > 1) return;
    const here = Object.assign(document.createElement("div"), { className: "here" });
    here.style.left = `${scale * (map.left + across * map.width)}px`;
    here.style.top = `${scale * (map.top + (1 - up) * map.height)}px`;
    room.append(here);
  }
  room?.addEventListener("click", event => {
    const svg = room.querySelector("svg");
    if (!map || !svg) return;
    const box = svg.getBoundingClientRect(), scale = box.width / svg.viewBox.baseVal.width || 1;
    const across = ((event.clientX - box.left) / scale - map.left) / map.width;
    const up = 1 - ((event.clientY - box.top) / scale - map.top) / map.height;
    if (across < 0 || across > 1 || up < 0 || up > 1) return;
    const along = ([low, high], share) => low + share * (high - low);
    byId("s-ratio").value = along(map.ratios, across).toPrecision(4);
    byId("s-inertia").value = `${(1e4 * along(map.inertias_kg_m2, up)).toPrecision(4)} kg cm^2`;
    byId("s-inertia").dispatchEvent(new Event("input"));
    look();
  });
  byId("spot")?.addEventListener("submit", event => { event.preventDefault(); look(); });
  const changed = async (path, body) => {
    const { ok, data } = await post(path, body);
    if (ok) location.reload(); else notice(data.message, 8);
  };
  byId("jolt")?.addEventListener("click", () => changed("/drive/jolt", { drive: name, prototype: byId("d-launcher").value }));
  byId("winder")?.addEventListener("click", () => changed("/drive/turn", { drive: name, part: byId("d-winder").value }));
  byId("take")?.addEventListener("click", () => changed("/drive/take", { drive: name, ratio: byId("s-ratio").value, inertia: byId("s-inertia").value }));

  // ---------------------------------------------------------------- the search
  byId("search")?.addEventListener("click", async () => {
    const button = byId("search"), place = byId("work");
    await runJob(`/drive/search?${new URLSearchParams({ drive: name })}`, {}, place);
    place.replaceChildren(button);
    refreshParts(byId("found").parentElement);
  });
  byId("found")?.addEventListener("click", event => {
    if (event.target.closest("[data-pick]")) changed("/drive/pick", { drive: name });
  });
  drawMap();
}
