// The plan to scale. A thing that is dragged moves at once; what a shot needs from there follows, the latest wish
// first; letting go saves it.
import { ask, followJob, latest, notice, onMessage, post, showUndo } from "/static/app.js";

const byId = id => document.getElementById(id);
const root = byId("field"), svg = byId("plan");
const escaped = text => text.replace(/[&<>"]/g, sign => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[sign]);
if (root) begin();
gameFile();

function begin() {
  const state = { plan: null, held: null, scale: 1, pad: 30, times: [] };
  const pair = byId("pair"), prototype = byId("prototype"), defended = byId("defended"), mapped = byId("mapped");

  async function load() {
    const { ok, data } = await ask("/field/plan");
    if (!ok) { notice(data.message, 8); return; }
    state.plan = data;
    const wanted = pair.value || localStorage.getItem("shotwright-pair"), launcher = prototype.value;
    pair.replaceChildren(...data.shots.map(([from, to]) => new Option(`${from} to ${to}`, JSON.stringify([from, to]))));
    if ([...pair.options].some(o => o.value === wanted)) pair.value = wanted;
    prototype.replaceChildren(...(data.prototypes.length ? data.prototypes : [""]).map(name => new Option(name || "any, released at 0.5 m", name)));
    if (data.prototypes.includes(launcher)) prototype.value = launcher;
    draw();
    look();
  }
  const asked = () => pair.value ? JSON.parse(pair.value) : ["", ""];

  // ------------------------------------------------------------ the plan
  const at = (x, y) => [state.pad + x * state.scale, state.pad + (state.plan.width_m - y) * state.scale];
  function draw() {
    if (!state.plan) return;
    const width = svg.clientWidth, { length_m: length, width_m: breadth } = state.plan;
    state.scale = Math.min((width - 2 * state.pad) / length, (0.75 * innerHeight - 2 * state.pad) / breadth);
    const height = Math.round(breadth * state.scale + 2 * state.pad);
    svg.style.height = `${height}px`;
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    const parts = [], [left, top] = at(0, breadth), [right, bottom] = at(length, 0);
    if (state.map && mapped.checked) parts.push(cells());
    for (let x = 1; x < length; x += 1) parts.push(`<line class="grid" x1="${at(x, 0)[0]}" x2="${at(x, 0)[0]}" y1="${top}" y2="${bottom}"/>`);
    for (let y = 1; y < breadth; y += 1) parts.push(`<line class="grid" y1="${at(0, y)[1]}" y2="${at(0, y)[1]}" x1="${left}" x2="${right}"/>`);
    parts.push(`<rect class="floor" x="${left}" y="${top}" width="${right - left}" height="${bottom - top}"/>`);
    parts.push(`<text class="scale" x="${left}" y="${bottom + 18}">0</text><text class="scale" x="${right}" y="${bottom + 18}" text-anchor="end">${length} m · one square is 1 m</text><text class="scale" x="${left}" y="${top - 8}">${breadth} m</text>`);
    const [from, to] = asked(), a = find("position", from), b = find("target", to);
    if (a && b) { const [x1, y1] = at(a.x_m, a.y_m), [x2, y2] = at(b.x_m, b.y_m); parts.push(`<line class="aim" x1="${x1}" y1="${y1}" x2="${x2}" y2="${y2}"/>`); }
    for (const item of state.plan.items) parts.push(thing(item, item.kind === "position" && item.name === from));
    const focused = document.activeElement?.dataset?.item;
    svg.innerHTML = parts.join("");
    if (focused) svg.querySelector(`[data-item="${CSS.escape(focused)}"]`)?.focus();
  }
  // The map underneath: one hue, the deeper the likelier; while its target is dragged it goes along, paler, until
  // it is computed anew for the new place.
  function cells() {
    const { x_m: xs, y_m: ys, hit_probability: rows, target } = state.map, dx = xs.length > 1 ? xs[1] - xs[0] : 1, dy = ys.length > 1 ? ys[1] - ys[0] : 1;
    const now = find("target", target), was = state.mapTarget, shift = now && was ? [now.x_m - was.x_m, now.y_m - was.y_m] : [0, 0];
    const pale = shift.some(v => Math.abs(v) > 1e-9) ? 0.5 : 1, parts = [`<g opacity="${pale}">`];
    rows.forEach((row, j) => row.forEach((p, i) => {
      const [x, y] = at(xs[i] - dx / 2 + shift[0], ys[j] + dy / 2 + shift[1]);
      const kind = p === null ? 'class="none"' : `class="cell" fill-opacity="${(0.04 + 0.76 * Math.round(10 * p) / 10).toFixed(2)}"`;
      parts.push(`<rect ${kind} x="${x.toFixed(1)}" y="${y.toFixed(1)}" width="${(dx * state.scale + 0.3).toFixed(1)}" height="${(dy * state.scale + 0.3).toFixed(1)}"/>`);
    }));
    return parts.join("") + "</g>";
  }
  async function seeMap() {
    const { ok, data } = await ask("/field/map");
    if (!ok || !data.x_m) return;
    state.map = data;
    state.mapTarget = { ...find("target", data.target) };
    byId("map-key").hidden = false;
    byId("map-words").textContent = `${data.prototype} at ${data.target}, at the best setting for each place${data.origin === "simulated" ? " (SIMULATED trials)" : ""}. Grey: nothing scores from there. ${data.words.join(" ")}`;
    draw();
  }
  const remap = latest(async () => {
    if (!mapped.checked || state.held) return;
    const [position, target] = asked(), query = new URLSearchParams({ position, target, prototype: prototype.value, defended: defended.checked ? "yes" : "no" });
    const { ok, data } = await post(`/field/map?${query}`);
    if (!ok) { notice(data.message, 8); return; }
    const looking = setInterval(seeMap, 400);
    await followJob(data, byId("map-work"));
    clearInterval(looking);
    byId("map-work").replaceChildren();
    await seeMap();
  });
  byId("map-scale").innerHTML = [...Array(11).keys()].map(k => `<rect x="${k * 20}" y="0" width="20" height="14" fill-opacity="${0.04 + 0.076 * k}"/>`).join("") + '<text x="0" y="30">0 %</text><text x="110" y="30" text-anchor="middle">50 %</text><text x="220" y="30" text-anchor="end">100 %</text>';
  const find = (kind, name) => state.plan.items.find(i => i.kind === kind && i.name === name);
  function thing(item, isAsked) {
    const [x, y] = at(item.x_m, item.y_m), points = item.outline_m.map(p => at(...p).map(v => v.toFixed(1)).join(",")).join(" ");
    let shape = item.outline_m.length ? `<polygon class="shape" points="${points}"/>` : "";
    if (item.kind === "position") shape = `<circle class="spread" cx="${x}" cy="${y}" r="${Math.max(2 * item.place_sd_m * state.scale, 0.5)}"/><circle class="shape" cx="${x}" cy="${y}" r="7"/>`;
    const held = state.held?.item === item ? " held" : "";
    return `<g class="thing ${item.kind}${isAsked ? " asked" : ""}${held}" data-item="${escaped(`${item.kind} ${item.name}`)}" tabindex="0" role="img" aria-label="${escaped(item.words)}">${shape}<circle class="grip" cx="${x}" cy="${y}" r="22"/><text x="${x + (x > svg.clientWidth - 110 ? -11 : 11)}" y="${y - 9}" text-anchor="${x > svg.clientWidth - 110 ? "end" : "start"}">${escaped(item.name)}</text></g>`;
  }
  function shift(item, x, y) {
    const dx = x - item.x_m, dy = y - item.y_m;
    item.x_m = x;
    item.y_m = y;
    item.outline_m = item.outline_m.map(([a, b]) => [a + dx, b + dy]);
    item.words = item.words.replace(/x [-\d.]+ m, y [-\d.]+ m/, `x ${x.toFixed(2)} m, y ${y.toFixed(2)} m`);
    byId("held").textContent = item.words;
  }
  const inside = (value, high) => Math.min(Math.max(value, 0), high);
  function itemOf(event) {
    const group = event.target.closest("[data-item]");
    return group && state.plan.items.find(i => `${i.kind} ${i.name}` === group.dataset.item);
  }
  function place(event) {
    const box = svg.getBoundingClientRect();
    return [(event.clientX - box.left - state.pad) / state.scale, state.plan.width_m - (event.clientY - box.top - state.pad) / state.scale];
  }
  svg.addEventListener("pointerdown", event => {
    const item = itemOf(event);
    if (!item) return;
    event.preventDefault();
    const [x, y] = place(event);
    svg.setPointerCapture(event.pointerId);
    state.held = { item, dx: item.x_m - x, dy: item.y_m - y, moved: false };
    if (item.kind === "position") choose(item.name);
    draw();
  });
  svg.addEventListener("pointermove", event => {
    if (!state.held) return;
    const [x, y] = place(event), { item, dx, dy } = state.held;
    state.held.moved = true;
    state.asked = performance.now();
    shift(item, Math.round(100 * inside(x + dx, state.plan.length_m)) / 100, Math.round(100 * inside(y + dy, state.plan.width_m)) / 100);
    draw();
    look();
  });
  const release = async () => {
    const held = state.held;
    state.held = null;
    state.asked = 0;
    if (held?.moved) await save(held.item);
    draw();
  };
  svg.addEventListener("pointerup", release);
  svg.addEventListener("pointercancel", release);
  let pause;
  svg.addEventListener("keydown", event => {
    const by = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }[event.key], item = itemOf(event);
    if (!by || !item) return;
    event.preventDefault();
    const jump = event.shiftKey ? 0.1 : 0.01;
    if (item.kind === "position") choose(item.name);
    shift(item, inside(item.x_m + by[0] * jump, state.plan.length_m), inside(item.y_m + by[1] * jump, state.plan.width_m));
    state.keyed = item;
    draw();
    look();
    clearTimeout(pause);
    pause = setTimeout(() => { state.keyed = null; save(item); }, 700);
  });
  function choose(name) {
    if (asked()[0] === name) return;
    const option = [...pair.options].find(o => JSON.parse(o.value)[0] === name);
    if (option) pair.value = option.value;
  }
  async function save(item) {
    const { ok, data } = await post("/game/move", { kind: item.kind, name: item.name, x: item.x_m, y: item.y_m });
    if (ok && item.kind !== "position") remap();
    if (ok) showUndo(data.undo); else { notice(data.message, 8); load(); }
  }

  // ------------------------------------------------------------ what the shot needs
  const look = latest(async () => {
    const [position, target] = asked();
    if (!position) return;
    const wanted = state.asked || performance.now(), room = byId("window").clientWidth;
    const query = new URLSearchParams({ position, target, prototype: prototype.value, defended: defended.checked ? "yes" : "no", width: Math.round(room) });
    const item = state.held?.moved ? state.held.item : state.keyed;
    if (item) for (const [name, value] of Object.entries({ kind: item.kind, name: item.name, x: item.x_m, y: item.y_m })) query.set(name, value);
    const { ok, data } = await ask(`/field/look?${query}`);
    if (!ok) { byId("words").replaceChildren(Object.assign(document.createElement("li"), { textContent: data.message })); return; }
    byId("window").innerHTML = data.window_svg;
    byId("side").innerHTML = data.side_svg;
    byId("blocked").hidden = !data.blocked;
    byId("blocked").textContent = data.blocked ? `Blocked: ${data.blocked}.` : "";
    byId("words").replaceChildren(...data.words.map(text => Object.assign(document.createElement("li"), { textContent: text })));
    requestAnimationFrame(() => root.dispatchEvent(new CustomEvent("looked", { detail: performance.now() - wanted })));
  });
  for (const control of [pair, prototype, defended]) control.addEventListener("change", () => { localStorage.setItem("shotwright-pair", pair.value); draw(); look(); remap(); });
  mapped.addEventListener("change", () => { if (!mapped.checked) { byId("map-key").hidden = true; draw(); } else remap(); });
  addEventListener("resize", () => { draw(); look(); });
  onMessage(message => { if ("changed" in message && !state.held && !state.keyed) load(); });
  load();
}

function gameFile() {
  const form = byId("game-text"), text = byId("text");
  byId("file").addEventListener("toggle", async () => {
    if (!byId("file").open || text.value) return;
    const { ok, data } = await ask("/game/text");
    text.value = ok ? data.text : "";
  });
  form.addEventListener("submit", async event => {
    event.preventDefault();
    const { ok, data } = await post("/game/text", new FormData(form));
    const lines = ok ? [] : (data.messages || [data.message]);
    byId("text-errors").replaceChildren(...lines.map(line => Object.assign(document.createElement("li"), { textContent: line })));
    if (!ok) return;
    notice(data.words[0]);
    showUndo(data.undo);
    if (!root) location.reload();
  });
}
