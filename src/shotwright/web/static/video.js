// Send a clip, scrub its frames, tap the scale, see the track on the frames, accept or correct it.
import { clearErrors, latest, notice, post, readBack, runJob, showError } from "/static/app.js";

const byId = id => document.getElementById(id);
const root = byId("video"), svg = byId("taps"), picture = byId("picture"), slider = byId("frame");
const state = { clip: null, size: null, taps: { marks: [], plumb: [], release: [] }, hand: new Map(), result: null };
const WORDS = { marks: "Tap the two marks", plumb: "Tap the top and the bottom of the upright line", release: "Tap the ball's centre where it leaves the launcher", ball: "Tap the ball's centre in this frame" };
const tool = () => root.querySelector('input[name="tool"]:checked').value;

byId("file").addEventListener("change", async () => {
  clearErrors(root);
  const file = byId("file").files[0];
  if (!file) return;
  const body = new FormData();
  body.append("clip", file);
  notice("Sending the clip …", 120);
  const { ok, data } = await post("/range/video/send", body);
  notice("");
  if (!ok) { showError(byId("choose"), "clip", data.message); return; }
  const job = await runJob("/range/video/search", { clip: data.name }, byId("progress"));
  if (!job) return;
  const found = await post("/range/video/searched", { clip: data.name });
  if (!found.ok) { notice(found.data.message, 10); return; }
  Object.assign(state, { clip: data, size: found.data, taps: { marks: [], plumb: [], release: [] }, hand: new Map(), result: null });
  svg.setAttribute("viewBox", `0 0 ${found.data.width} ${found.data.height}`);
  slider.max = found.data.frames - 1;
  byId("work").hidden = false;
  readBack(byId("work"));
  await measure();
  const first = state.result?.shots[0];
  turnTo(first ? first.first_frame : 0);
});

// ---------------------------------------------------------------- frames
let wanted = 0;
const load = latest(async () => {
  const frame = wanted, image = new Image();
  image.src = `/range/video/${state.clip.name}/${frame}.jpg`;
  try { await image.decode(); } catch { return; }
  picture.src = image.src;
});
function turnTo(frame) {
  wanted = Math.min(Math.max(frame, 0), Number(slider.max));
  slider.value = wanted;
  load();
  draw();
}
slider.addEventListener("input", () => turnTo(Number(slider.value)));
byId("back").addEventListener("click", () => turnTo(wanted - 1));
byId("on").addEventListener("click", () => turnTo(wanted + 1));

// ---------------------------------------------------------------- what is drawn over the frame
function draw() {
  if (!state.size) return;
  const unit = state.size.width / Math.max(svg.clientWidth, 1), parts = [];
  const cross = ([x, y], kind, label) => {
    const r = 8 * unit, path = `M${x - 2 * r} ${y}h${4 * r}M${x} ${y - 2 * r}v${4 * r}`;
    parts.push(`<path class="halo" stroke-width="${4 * unit}" d="${path}"/><path class="line ${kind}" stroke-width="${2 * unit}" d="${path}"/><text x="${x + 10 * unit}" y="${y - 10 * unit}" font-size="${15 * unit}" stroke-width="${3 * unit}">${label}</text>`);
  };
  for (const shot of state.result?.shots || []) {
    const line = shot.track.map(p => `${p.x_px.toFixed(1)},${p.y_px.toFixed(1)}`).join(" ");
    parts.push(`<polyline class="path" stroke-width="${1.2 * unit}" points="${line}"/>`);
    for (const p of shot.track) {
      if (p.frame !== wanted) continue;
      const r = Number.isFinite(p.radius_px) && p.radius_px ? p.radius_px : 10 * unit;
      parts.push(`<circle class="ball ${p.used ? "in" : "off"}" stroke-width="${2.2 * unit}" cx="${p.x_px}" cy="${p.y_px}" r="${r + 2 * unit}"/>`);
    }
  }
  const here = (state.result?.shots || []).flatMap(shot => shot.track).find(p => p.frame === wanted);
  byId("when").textContent = `frame ${wanted}, ${state.size.times_s[wanted].toFixed(3)} s${here ? `, ball ${here.by_hand ? "by hand" : `${Math.round(100 * here.confidence)} % sure`}` : ""}`;
  state.taps.marks.forEach((spot, k) => cross(spot, "known-mark", "AB"[k]));
  state.taps.plumb.forEach((spot, k) => cross(spot, "known-mark", k ? "bottom" : "top"));
  state.taps.release.forEach(spot => cross(spot, "", "release"));
  const mine = state.hand.get(wanted);
  if (mine) cross(mine, "", "ball");
  svg.innerHTML = parts.join("");
  const missing = { marks: 2, plumb: 2, release: 1 }[tool()];
  byId("ask").textContent = tool() === "ball" || state.taps[tool()].length < missing ? WORDS[tool()] : `${WORDS[tool()]}: done; tap again to start over`;
}
addEventListener("resize", draw);
root.addEventListener("change", event => { if (event.target.name === "tool") draw(); });

// ---------------------------------------------------------------- taps
let last = null;
function at(event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return [point.x - 0.5, point.y - 0.5];
}
function set(spot) {
  const kind = tool();
  last = spot;
  if (kind === "ball") { state.hand.set(wanted, spot); return; }
  const list = state.taps[kind];
  if (list.length >= (kind === "release" ? 1 : 2)) list.length = 0;
  list.push(spot);
}
let moving = false;
svg.addEventListener("pointerdown", event => { moving = true; svg.setPointerCapture(event.pointerId); set(at(event)); draw(); });
svg.addEventListener("pointermove", event => { if (!moving) return; [last[0], last[1]] = at(event); draw(); });
for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, () => { if (moving) { moving = false; stale(); } });
svg.addEventListener("keydown", event => {
  const by = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }[event.key];
  if (event.key === "PageUp" || event.key === "PageDown") turnTo(wanted + (event.key === "PageUp" ? 1 : -1));
  else if (by && last) { const jump = event.shiftKey ? 10 : 0.5; last[0] += by[0] * jump; last[1] += by[1] * jump; draw(); stale(); }
  else return;
  event.preventDefault();
});
byId("leave-out").addEventListener("click", () => { state.hand.set(wanted, null); stale(); });
byId("undo-hand").addEventListener("click", () => { state.hand.clear(); draw(); measure(); });
function stale() { if (state.result) measure(); }

// ---------------------------------------------------------------- measuring
const pixels = list => list.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join(" ");
function typed() {
  const { marks, plumb, release } = state.taps;
  const moved = [...state.hand].map(([frame, spot]) => `${frame}=${spot ? pixels([spot]) : ""}`).join(";");
  return {
    clip: state.clip.name, file: state.clip.file, trial: root.dataset.trial, marks: marks.length === 2 ? pixels(marks) : "",
    plumb: plumb.length === 2 ? pixels(plumb) : "", release: pixels(release), moved,
    distance: byId("distance").value.trim(), filmed_at: byId("filmed_at").value.trim(), mark: byId("mark").value,
    width: Math.round(Math.min(root.clientWidth - 32, 800)),
  };
}
const measure = latest(async () => {
  clearErrors(byId("work"));
  byId("found").textContent = "Measuring …";
  const { ok, data } = await post("/range/video/measure", typed());
  if (!ok) {
    byId("found").textContent = "";
    if (data.field && byId(data.field)) showError(byId("work"), data.field, data.message); else byId("found").textContent = data.message;
    return;
  }
  state.result = data;
  byId("found").replaceChildren(...data.words.map(text => Object.assign(document.createElement("p"), { textContent: text })));
  byId("shots").replaceChildren(...data.shots.map((shot, k) => card(shot, data.pictures[k])));
  draw();
});
byId("measure").addEventListener("click", measure);

function button(text, act) {
  const made = Object.assign(document.createElement("button"), { type: "button", textContent: text });
  made.addEventListener("click", act);
  return made;
}
function card(shot, drawn) {
  const box = document.createElement("section"), head = document.createElement("h2"), row = document.createElement("div");
  box.className = "shot";
  row.className = "row";
  head.textContent = `Shot ${shot.number}, frames ${shot.first_frame} to ${shot.last_frame}`;
  box.append(head);
  row.append(button("Show its first frame", () => turnTo(shot.first_frame)), button("Show its last frame", () => turnTo(shot.last_frame)));
  if (drawn) {
    const chart = document.createElement("div");
    chart.innerHTML = drawn;
    const name = `shot-${shot.number}-as`, field = document.createElement("div");
    field.className = "field";
    field.innerHTML = `<label for="${name}">As shot number of the trial, empty for a new one</label><input id="${name}" inputmode="numeric">`;
    row.append(field, button(`Accept shot ${shot.number}`, event => accept(shot, byId(name).value.trim(), event.target)));
    box.append(chart);
  }
  box.append(row);
  return box;
}
async function accept(shot, number, pressed) {
  pressed.disabled = true;
  const { ok, data } = await post("/range/video/accept", { ...typed(), only: shot.number, shot: number });
  pressed.disabled = false;
  if (!ok) { notice(data.message, 10); return; }
  pressed.textContent = `Accepted as shot ${data.shots[0].order}`;
  notice(data.words.join(" "), 10);
}
