// Tap four known points, type where they are, tap each mark; the laptop rectifies, the person logs.
import { ask, clearErrors, latest, notice, post, readBack, showError } from "/static/app.js";

const byId = id => document.getElementById(id);
const root = byId("photo"), svg = byId("taps"), picture = byId("picture"), loupe = byId("loupe");
const LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ";
const state = { photo: null, known: [], wanted: 4, marks: [], logged: 0, places: [] };

byId("file").addEventListener("change", async () => {
  clearErrors(root);
  const file = byId("file").files[0];
  if (!file) return;
  const body = new FormData();
  body.append("photo", file);
  notice("Sending the photo …", 30);
  const { ok, data } = await post("/range/photo/send", body);
  notice("");
  if (!ok) { showError(byId("choose"), "photo", data.message); return; }
  Object.assign(state, { photo: data, known: [], marks: [], places: [], wanted: 4 });
  picture.src = `/range/photo/${data.name}.jpg`;
  svg.setAttribute("viewBox", `0 0 ${data.width} ${data.height}`);
  byId("work").hidden = false;
  drawKnown();
  draw();
});

const collecting = () => state.known.length < state.wanted ? state.known : state.marks;

function draw() {
  const unit = state.photo.width / Math.max(svg.clientWidth, 1), parts = [];
  const cross = (x, y, kind) => {
    const r = 9 * unit, path = `M${x - 2 * r} ${y}h${4 * r}M${x} ${y - 2 * r}v${4 * r}`;
    return `<path class="halo" stroke-width="${4.5 * unit}" d="${path}"/><path class="line ${kind}" stroke-width="${2 * unit}" d="${path}"/><circle class="line ${kind}" stroke-width="${2 * unit}" cx="${x}" cy="${y}" r="${r}"/>`;
  };
  const label = (x, y, text) => `<text x="${x + 14 * unit}" y="${y - 10 * unit}" font-size="${16 * unit}" stroke-width="${3 * unit}">${text}</text>`;
  state.known.forEach(([x, y], k) => parts.push(cross(x, y, "known-mark"), label(x, y, LETTERS[k])));
  state.marks.forEach(([x, y], k) => parts.push(cross(x, y, ""), label(x, y, k + 1)));
  svg.innerHTML = parts.join("");
  const missing = state.known.length < state.wanted;
  byId("ask").textContent = missing ? `Tap known point ${LETTERS[state.known.length]} (${state.known.length + 1} of ${state.wanted})` : `Tap each mark (${state.marks.length} so far), then log them`;
  byId("more-known").hidden = missing;
}

function drawKnown() {
  const box = byId("known");
  while (box.querySelectorAll(".known-row").length < state.wanted) {
    const k = box.querySelectorAll(".known-row").length, row = document.createElement("div");
    row.className = "known-row";
    row.innerHTML = `<strong>${LETTERS[k]}</strong>${["along", "cross"].map(axis => `<div><label for="${axis}-${k}">${axis === "cross" ? "left" : root.dataset.upright}</label><input id="${axis}-${k}" name="${axis}-${k}" data-kind="length" placeholder="${axis === "cross" ? "-1 m" : "3 m"}"><p class="read" id="${axis}-${k}-read"></p><p class="error" id="${axis}-${k}-error" hidden></p></div>`).join("")}`;
    box.append(row);
  }
  readBack(box);
}
byId("known").addEventListener("input", () => rectify());
byId("place_sd").addEventListener("input", () => rectify());
byId("more-known").addEventListener("click", () => { if (state.wanted < LETTERS.length) { state.wanted += 1; drawKnown(); draw(); } });
byId("remove").addEventListener("click", () => { (state.marks.length ? state.marks : state.known).pop(); draw(); rectify(); });

// ---------------------------------------------------------------- taps, with a loupe over the finger
let moving = false;
function at(event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return [point.x, point.y];
}
function magnify(event, [x, y]) {
  const box = svg.getBoundingClientRect(), pen = loupe.getContext("2d"), part = 46 * picture.naturalWidth / state.photo.width;
  const k = picture.naturalWidth / state.photo.width;
  pen.fillRect(0, 0, 140, 140);
  pen.drawImage(picture, x * k - part / 2, y * k - part / 2, part, part, 0, 0, 140, 140);
  pen.strokeStyle = "#fff"; pen.beginPath(); pen.moveTo(70, 0); pen.lineTo(70, 140); pen.moveTo(0, 70); pen.lineTo(140, 70); pen.stroke();
  const left = event.clientX - box.left, top = event.clientY - box.top;
  loupe.style.left = `${Math.min(Math.max(left - 70, 0), box.width - 144)}px`;
  loupe.style.top = `${top > 180 ? top - 170 : top + 40}px`;
  loupe.hidden = false;
}
svg.addEventListener("pointerdown", event => { if (taken(at(event))) return; moving = true; svg.setPointerCapture(event.pointerId); collecting().push(at(event)); state.moved = state.marks.length && state.known.length >= state.wanted ? state.marks : state.known; magnify(event, at(event)); draw(); });
svg.addEventListener("pointermove", event => { if (!moving) return; const spot = at(event); state.moved[state.moved.length - 1] = spot; magnify(event, spot); draw(); });
for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, () => { if (!moving) return; moving = false; loupe.hidden = true; draw(); rectify(); });
svg.addEventListener("keydown", event => {
  const list = state.marks.length ? state.marks : state.known, last = list[list.length - 1];
  const by = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }[event.key];
  if (event.key === "Delete" || event.key === "Backspace") list.pop();
  else if (by && last) { const jump = event.shiftKey ? 10 : 0.5; last[0] += by[0] * jump; last[1] += by[1] * jump; }
  else return;
  event.preventDefault();
  draw();
  rectify();
});
addEventListener("resize", () => { if (state.photo) draw(); });

// ---------------------------------------------------------------- marks found by the laptop, to be confirmed
const typedKnown = () => state.known.map(([x, y], k) => [x, y, value(`along-${k}`), value(`cross-${k}`)]);
byId("propose").addEventListener("click", async () => {
  byId("propose").disabled = true;
  notice("Looking for marks …", 30);
  const { ok, data } = await post("/range/photo/proposals", { photo: state.photo.name, known: JSON.stringify(typedKnown()) });
  notice(ok ? data.words.join(" ") : data.message, 10);
  byId("propose").disabled = false;
  if (!ok) return;
  const near = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]) < 0.01 * state.photo.width;
  const fresh = data.marks.map(m => [m.x_px, m.y_px]).filter(spot => !state.marks.some(mark => near(mark, spot)));
  state.marks.push(...fresh);
  draw();
  rectify();
});
// A tap on a mark that is there takes it away.
function taken(spot) {
  if (state.known.length < state.wanted) return false;
  const reach = 14 * state.photo.width / Math.max(svg.clientWidth, 1);
  const k = state.marks.findIndex(mark => Math.hypot(mark[0] - spot[0], mark[1] - spot[1]) < reach);
  if (k < 0) return false;
  state.marks.splice(k, 1);
  draw();
  rectify();
  return true;
}

const value = id => byId(id)?.value.trim() || "";
const rectify = latest(async () => {
  state.places = [];
  byId("log-marks").disabled = true;
  const typed = typedKnown();
  byId("propose").disabled = typed.length < 4 || typed.some(t => !t[2] || !t[3]);
  if (byId("propose").disabled || !state.marks.length) { byId("found").textContent = ""; return; }
  const { ok, data } = await post("/range/photo/marks", { photo: state.photo.name, width: state.photo.width, known: JSON.stringify(typed), marks: JSON.stringify(state.marks), place_sd: value("place_sd") });
  if (!ok) { if (data.field && byId(data.field)) showError(root, data.field, data.message); else byId("found").textContent = data.message; return; }
  state.places = data.marks;
  const list = document.createElement("ol");
  for (const mark of data.marks) list.append(Object.assign(document.createElement("li"), { textContent: `${root.dataset.upright} ${mark.along_m.toFixed(3)} m, left ${mark.cross_m.toFixed(3)} m (± ${(1000 * mark.sd_along_m).toFixed(0)}, ${(1000 * mark.sd_cross_m).toFixed(0)} mm)` }));
  const words = data.words.map(text => Object.assign(document.createElement("p"), { textContent: text }));
  const worst = Math.max(...data.marks.map(m => Math.max(m.sd_along_m, m.sd_cross_m)));
  if (worst > 1.5 * Number(root.dataset.markSd)) words.push(Object.assign(document.createElement("p"), { textContent: `The trial says that marks are read to ${(1000 * root.dataset.markSd).toFixed(0)} mm; these are worse. Use a trial of its own with that figure, or a closer photo.` }));
  byId("found").replaceChildren(...words, list);
  byId("log-marks").disabled = false;
  byId("log-marks").textContent = `Log ${data.marks.length} mark${data.marks.length > 1 ? "s" : ""} as shots, in this order`;
});

byId("log-marks").addEventListener("click", async () => {
  const button = byId("log-marks");
  button.disabled = true;
  for (const [k, mark] of state.places.entries()) {
    // A number of its own for each mark of each photo: logging the same photo again makes no second shot.
    const text = new TextEncoder().encode(`${state.photo.name} ${k} ${mark.along_m} ${mark.cross_m}`);
    let a = 0xcbf29ce484222325n, b = 0x84222325cbf29ce4n;
    for (const byte of text) { a = BigInt.asUintN(64, (a ^ BigInt(byte)) * 0x100000001b3n); b = BigInt.asUintN(64, (b + BigInt(byte)) * 0x100000001b3n); }
    const uid = a.toString(16).padStart(16, "0") + b.toString(16).padStart(16, "0");
    const { ok, data } = await post("/range/log", { uid, trial: root.dataset.trial, [root.dataset.upright]: `${mark.along_m.toFixed(5)} m`, cross: `${mark.cross_m.toFixed(5)} m`, source: `photo ${state.photo.name.slice(0, 12)} mark ${k + 1}` });
    if (!ok) { notice(`Mark ${k + 1} was not logged: ${data.message}`, 10); button.disabled = false; return; }
  }
  location.href = `/range?${new URLSearchParams({ trial: root.dataset.trial })}`;
});
