// What drives a launcher: each change is kept at once; the match, the map and the search follow.
import { ask, latest, notice, onMessage, post, refreshParts, runJob, showError } from "/static/app.js";
import { keepForms, keepText } from "/static/kept_form.js";

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
  byId("which").addEventListener("change", () => go(byId("which").value));
  byId("drop").addEventListener("click", async () => {
    const { ok, data } = await post("/drive/drop", { drive: name });
    if (ok) location.href = "/drive"; else notice(data.message, 8);
  });

  // ---------------------------------------------------------------- the form
  const { showFaults } = keepForms({
    forms: [form], page: `/drive?${new URLSearchParams({ drive: name })}`, home: "/drive", save: "/drive/save", text: byId("drive-text"),
    saved: data => { if (data.drive !== name) go(data.drive); },
    changed: () => drawMap(),
  });
  keepText(byId("drive-text"), "/drive/text", data => go(data.drive));
  form.addEventListener("click", async event => {
    const { add, remove } = event.target.closest("button")?.dataset || {};
    if (!add && !remove) return;
    const { ok, data } = await post(add ? "/drive/add" : "/drive/remove", { drive: name, table: add || remove });
    if (ok) location.reload(); else showFaults(data.faults || [data]);
  });

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
