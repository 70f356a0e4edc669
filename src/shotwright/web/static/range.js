// Log shots by thumb. What is logged is kept on this device first, then sent; a shot carries its own number, so
// that sending it again never makes two of it.
import { ask, clearErrors, latest, notice, onMessage, post, showError, showUndo } from "/static/app.js";

const UNITS = { m: 1, cm: 0.01, mm: 0.001, in: 0.0254, ft: 0.3048 };
const byId = id => document.getElementById(id);
const root = byId("range");

if (root) begin();

function begin() {
  const key = "shotwright-waiting";
  const state = { trial: root.dataset.trial, record: null, view: null, ball: "", which: "along", text: { along: "", cross: "" } };
  const unit = byId("unit"), floor = byId("floor");
  unit.value = localStorage.getItem("shotwright-unit") || "cm";

  // ------------------------------------------------------------ what waits on this device
  const waiting = () => { try { return JSON.parse(localStorage.getItem(key)) || []; } catch { return []; } };
  const keep = list => localStorage.setItem(key, JSON.stringify(list));
  const newUid = () => [...crypto.getRandomValues(new Uint8Array(16))].map(b => b.toString(16).padStart(2, "0")).join("");

  function showWaiting() {
    const count = waiting().length, box = byId("outbox");
    box.textContent = count ? `${count} shot${count > 1 ? "s" : ""} waiting on this device` : "";
    box.dataset.waiting = count ? "yes" : "no";
  }
  let sending = false;
  async function send() {
    if (sending) return;
    sending = true;
    try {
      for (let list = waiting(); list.length; list = waiting()) {
        const shot = list[0];
        const { ok, status, data } = await post("/range/log", shot);
        if (!ok && (status === 0 || status >= 500 || status === 401)) {
          if (status === 401) notice("This phone is not paired any more; its shots stay here until it is.", 8);
          return;
        }
        // Gone from here only once the laptop has it, or has said why it can't have it.
        keep(waiting().filter(s => s.uid !== shot.uid));
        showWaiting();
        if (ok) { notice(data.words[0]); if (data.undo !== undefined) showUndo(data.undo); }
        else notice(`Not logged: ${data.message}`, 10);
      }
      await load();
    } finally { sending = false; draw(); }
  }
  setInterval(() => { if (waiting().length) send(); }, 1500);
  addEventListener("online", send);
  addEventListener("beforeunload", event => { if (waiting().length) event.preventDefault(); });

  // ------------------------------------------------------------ the record
  const load = latest(async () => {
    if (!state.trial) return;
    const { ok, data } = await ask(`/range/shots?${new URLSearchParams({ trial: state.trial })}`);
    if (!ok) return;
    const first = !state.record || state.record.trials[0].name !== state.trial;
    state.record = data;
    if (first) { state.view = null; state.ball = ""; }
    draw();
  });
  onMessage(message => { if ("changed" in message) load(); });

  const plane = () => state.record?.trials[0].surface === "plane";
  const upright = () => plane() ? "height" : "along";
  function shots() {
    const mine = waiting().filter(s => s.trial === state.trial).map(s => ({ uid: s.uid, order: "…", ball: s.ball || null, [upright()]: si(s[upright()]), cross: si(s.cross), hit: s.hit === "in" ? true : s.hit === "out" ? false : null, waiting: true }));
    return [...(state.record?.shots || []), ...mine];
  }
  const si = text => { if (!text) return null; const [value, name] = text.split(" "); return Number(value) * UNITS[name]; };

  // ------------------------------------------------------------ the floor, to scale
  function fit() {
    const points = shots().map(s => [s.cross, s[upright()]]).filter(p => p.every(Number.isFinite));
    if (!points.length) return plane() ? { x: 0, y: 1.5, span: 3 } : { x: 0, y: 4, span: 6 };
    const xs = points.map(p => p[0]), ys = points.map(p => p[1]);
    const box = floor.getBoundingClientRect(), aspect = box.width / box.height || 1;
    const tall = Math.max(...ys) - Math.min(...ys), wide = Math.max(...xs, 0) - Math.min(...xs, 0);
    return { x: (Math.max(...xs, 0) + Math.min(...xs, 0)) / 2, y: (Math.max(...ys) + Math.min(...ys)) / 2, span: Math.max(tall, wide / aspect, 0.8) * 1.5 };
  }
  const scale = () => floor.getBoundingClientRect().height / state.view.span;
  // Left of the aim line is left on the screen: one looks from the launcher.
  const toScreen = (cross, along) => { const box = floor.getBoundingClientRect(), k = scale(); return [box.width / 2 - (cross - state.view.x) * k, box.height / 2 - (along - state.view.y) * k]; };
  const toFloor = (px, py) => { const box = floor.getBoundingClientRect(), k = scale(); return [state.view.x - (px - box.width / 2) / k, state.view.y - (py - box.height / 2) / k]; };
  function step(span) { const raw = span / 6, ten = 10 ** Math.floor(Math.log10(raw)); return [1, 2, 5, 10].map(m => m * ten).find(s => s >= raw); }

  function draw() {
    showWaiting();
    byId("logging").hidden = !state.record;
    if (!state.record) return;
    byId("along-name").textContent = plane() ? "height" : "along";
    if (!state.view) state.view = fit();
    const box = floor.getBoundingClientRect(), parts = [];
    floor.setAttribute("viewBox", `0 0 ${box.width} ${box.height}`);
    const size = step(state.view.span), [left, top] = toFloor(0, 0), [right, bottom] = toFloor(box.width, box.height);
    const places = Math.max(0, -Math.floor(Math.log10(size) + 1e-9));
    for (let v = Math.ceil(bottom / size) * size; v <= top + 1e-9; v += size) {
      const [, y] = toScreen(0, v);
      parts.push(`<line class="grid" x1="0" x2="${box.width}" y1="${y}" y2="${y}"/><text x="6" y="${y - 4}">${v.toFixed(places)} m</text>`);
    }
    for (let v = Math.ceil(right / size) * size; v <= left + 1e-9; v += size) {
      const [x] = toScreen(v, 0);
      parts.push(`<line class="grid" y1="0" y2="${box.height}" x1="${x}" x2="${x}"/>`);
      if (Math.abs(v) > 1e-9) parts.push(`<text x="${x + 4}" y="${box.height - 6}">${Math.abs(v).toFixed(places)} m ${v > 0 ? "left" : "right"}</text>`);
    }
    const [aim] = toScreen(0, 0);
    parts.push(`<line class="aim" y1="0" y2="${box.height}" x1="${aim}" x2="${aim}"/>`);
    const all = shots(), live = all.filter(s => !s.set_aside), last = live[live.length - 1];
    for (const shot of all) {
      if (!Number.isFinite(shot.cross) || !Number.isFinite(shot[upright()])) continue;
      const [x, y] = toScreen(shot.cross, shot[upright()]);
      parts.push(`<circle class="shot${shot.set_aside ? " aside" : ""}${shot.waiting ? " waiting" : ""}${shot === last ? " last" : ""}" cx="${x}" cy="${y}" r="7"/><text x="${x + 10}" y="${y + 4}">${shot.order}</text>`);
    }
    const at = pending();
    if (at) { const [x, y] = toScreen(at.cross, at.along); parts.push(`<path class="pending" d="M${x - 16} ${y}h32M${x} ${y - 16}v32"/><circle class="pending" cx="${x}" cy="${y}" r="9"/>`); }
    floor.innerHTML = parts.join("");
    for (const name of ["along", "cross"]) {
      byId(name).textContent = state.text[name] === "" ? "–" : state.text[name];
      byId(`read-${name}`).setAttribute("aria-pressed", String(state.which === name));
    }
    byId("log").textContent = `Log shot ${1 + Math.max(0, ...all.map(s => Number(s.order) || 0)) + waiting().filter(s => s.trial === state.trial).length}`;
    drawBalls(all);
    drawRecord(all);
  }
  function pending() {
    const along = Number(state.text.along), cross = Number(state.text.cross);
    if (state.text.along === "" || state.text.cross === "" || !Number.isFinite(along + cross)) return null;
    return { along: along * UNITS[unit.value], cross: cross * UNITS[unit.value] };
  }
  const shown = metres => { const places = { m: 3, cm: 1, mm: 0, in: 2, ft: 3 }[unit.value]; return String(Number((metres / UNITS[unit.value]).toFixed(places))); };

  // ------------------------------------------------------------ taps, keys
  function place(event) {
    const box = floor.getBoundingClientRect();
    const [cross, along] = toFloor(event.clientX - box.left, event.clientY - box.top);
    state.text = { along: shown(along), cross: shown(cross) };
    draw();
  }
  let dragging = false;
  floor.addEventListener("pointerdown", event => { dragging = true; floor.setPointerCapture(event.pointerId); place(event); });
  floor.addEventListener("pointermove", event => { if (dragging) place(event); });
  floor.addEventListener("pointerup", () => { dragging = false; });
  floor.addEventListener("pointercancel", () => { dragging = false; });
  floor.addEventListener("keydown", event => {
    const by = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [1, 0], ArrowRight: [-1, 0] }[event.key];
    if (!by) return;
    event.preventDefault();
    const at = pending() || { along: state.view.y, cross: state.view.x }, jump = event.shiftKey ? 0.1 : 0.01;
    state.text = { along: shown(at.along + by[1] * jump), cross: shown(at.cross + by[0] * jump) };
    draw();
  });
  const zoom = factor => { state.view.span *= factor; draw(); };
  byId("closer").addEventListener("click", () => zoom(1 / 1.5));
  byId("farther").addEventListener("click", () => zoom(1.5));
  byId("whole").addEventListener("click", () => { state.view = fit(); draw(); });
  for (const name of ["along", "cross"]) byId(`read-${name}`).addEventListener("click", () => { state.which = name; draw(); });
  function press(name) {
    let text = state.text[state.which];
    if (name === "back") text = text.slice(0, -1);
    else if (name === "clear") { state.text = { along: "", cross: "" }; state.which = "along"; draw(); return; }
    else if (name === "±") text = text.startsWith("-") ? text.slice(1) : `-${text}`;
    else if (name === ".") { if (!text.includes(".")) text = `${text || "0"}.`; }
    else text += name;
    state.text[state.which] = text;
    draw();
  }
  root.addEventListener("click", event => { const button = event.target.closest("[data-key]"); if (button) press(button.dataset.key); });
  addEventListener("keydown", event => {
    if (event.target.matches("input, select, textarea") || document.querySelector("dialog[open]") || event.ctrlKey || event.metaKey) return;
    if (/^[0-9.]$/.test(event.key)) press(event.key);
    else if (event.key === ",") press(".");
    else if (event.key === "-") press("±");
    else if (event.key === "Backspace") press("back");
    else if (event.key === "Tab" || event.key !== "Enter" || event.target.matches("button, a")) return;
    else byId("log").click();
    event.preventDefault();
  });
  unit.addEventListener("change", () => {
    const from = localStorage.getItem("shotwright-unit") || "cm";
    // What was typed was meant in the unit that stood there: the figures change, not the place.
    for (const name of ["along", "cross"]) if (state.text[name] !== "" && Number.isFinite(Number(state.text[name]))) state.text[name] = shown(Number(state.text[name]) * UNITS[from]);
    localStorage.setItem("shotwright-unit", unit.value);
    draw();
  });

  // ------------------------------------------------------------ balls
  function drawBalls(all) {
    const names = [...new Set([...all.map(s => s.ball), state.ball].filter(Boolean))].sort((a, b) => a.localeCompare(b, undefined, { numeric: true }));
    const box = byId("balls");
    box.replaceChildren();
    for (const name of ["", ...names]) {
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: name || "any ball" });
      button.setAttribute("role", "radio");
      button.setAttribute("aria-checked", String(state.ball === name));
      button.addEventListener("click", () => { state.ball = name; draw(); });
      box.append(button);
    }
    const more = Object.assign(document.createElement("button"), { type: "button", textContent: "+ ball" });
    more.setAttribute("aria-label", "Name another ball");
    more.addEventListener("click", () => {
      const numbers = names.map(Number).filter(Number.isInteger);
      const name = prompt("What is written on the ball?", String(Math.max(0, ...numbers) + 1));
      if (name?.trim()) { state.ball = name.trim().slice(0, 20); draw(); }
    });
    box.append(more);
  }

  // ------------------------------------------------------------ log
  byId("log").addEventListener("click", () => {
    const at = pending(), hit = root.querySelector('[name="hit"]:checked').value;
    if (!at && !hit) { notice("Tap where the ball landed, or type both numbers."); return; }
    const shot = { uid: newUid(), trial: state.trial, ball: state.ball, hit };
    if (at) { shot[upright()] = `${state.text.along} ${unit.value}`; shot.cross = `${state.text.cross} ${unit.value}`; }
    keep([...waiting(), shot]);
    state.text = { along: "", cross: "" };
    state.which = "along";
    root.querySelector('[name="hit"][value=""]').checked = true;
    draw();
    send();
  });

  // ------------------------------------------------------------ the list
  const dialog = byId("aside");
  let asideOrder = null;
  function drawRecord(all) {
    const rows = [...all].reverse().slice(0, 60).map(shot => {
      const row = document.createElement("tr");
      row.className = `${shot.set_aside ? "aside" : ""} ${shot.waiting ? "waiting" : ""}`;
      const cells = [shot.order, shot.ball || "", ...[shot[upright()], shot.cross].map(v => Number.isFinite(v) ? shown(v) : ""), shot.hit === true ? "in" : shot.hit === false ? "out" : ""];
      for (const [k, text] of cells.entries()) row.append(Object.assign(document.createElement("td"), { textContent: text, className: k === 2 || k === 3 ? "figures" : "" }));
      row.append(Object.assign(document.createElement("td"), { textContent: shot.waiting ? "waiting here" : shot.set_aside || "", className: "why" }));
      const does = Object.assign(document.createElement("td"), { className: "does" });
      if (!shot.waiting) {
        const button = Object.assign(document.createElement("button"), { type: "button", textContent: shot.set_aside ? "Take back" : "Set aside" });
        button.setAttribute("aria-label", `${button.textContent} shot ${shot.order}`);
        button.addEventListener("click", () => shot.set_aside ? mark(shot.order, { back: "yes" }) : (asideOrder = shot.order, byId("aside-title").textContent = `Set shot ${shot.order} aside`, byId("why").value = "", dialog.showModal()));
        does.append(button);
      }
      row.append(does);
      return row;
    });
    const table = document.createElement("table"), head = document.createElement("thead"), body = document.createElement("tbody");
    head.innerHTML = `<tr><th scope="col">Shot</th><th scope="col">Ball</th><th scope="col" class="figures">${plane() ? "height" : "along"}, ${unit.value}</th><th scope="col" class="figures">left, ${unit.value}</th><th scope="col">Hit</th><th scope="col">Set aside because</th><th scope="col"><span class="unseen">Change</span></th></tr>`;
    body.append(...rows);
    table.append(head, body);
    const scroll = Object.assign(document.createElement("div"), { className: "scroll", tabIndex: 0 });
    scroll.setAttribute("role", "region");
    scroll.setAttribute("aria-labelledby", "record-title");
    scroll.append(table);
    byId("record").replaceChildren(all.length ? scroll : Object.assign(document.createElement("p"), { textContent: "No shot yet." }));
  }
  async function mark(order, more) {
    const { ok, data } = await post("/range/aside", { trial: state.trial, order, ...more });
    notice(ok ? data.words[0] : data.message);
    if (ok) showUndo(data.undo || "");
    load();
  }
  for (const button of dialog.querySelectorAll("[data-reason]")) button.addEventListener("click", () => { dialog.close(); mark(asideOrder, { reason: button.dataset.reason }); });
  byId("do-aside").addEventListener("click", () => { const reason = byId("why").value.trim(); if (!reason) { byId("why").focus(); return; } dialog.close(); mark(asideOrder, { reason }); });

  // ------------------------------------------------------------ trials
  const select = byId("trial"), fresh = byId("new-trial");
  function turnTo(name) {
    state.trial = name;
    state.record = null;
    fresh.hidden = Boolean(name);
    byId("by-photo").hidden = byId("by-video").hidden = !name;
    byId("by-video").href = `/range/video?${new URLSearchParams({ trial: name })}`;
    byId("by-photo").href = `/range/photo?${new URLSearchParams({ trial: name })}`;
    if (name) { history.replaceState(null, "", `?${new URLSearchParams({ trial: name })}`); load(); } else draw();
  }
  select.addEventListener("change", () => turnTo(select.value));
  fresh.addEventListener("submit", async event => {
    event.preventDefault();
    clearErrors(fresh);
    const { ok, data } = await post("/range/trial", new FormData(fresh));
    if (!ok) { showError(fresh, data.field, data.message); return; }
    const option = Object.assign(document.createElement("option"), { value: data.trial, textContent: data.trial });
    select.prepend(option);
    select.value = data.trial;
    turnTo(data.trial);
  });
  addEventListener("resize", draw);
  showWaiting();
  turnTo(state.trial);
  send();
}
