// What every page needs: live parts, forms that keep what was typed, read-back of quantities, long work, undo.

/** Run `work` again and again while it is wanted, never twice at once; the last wish always gets its turn. */
export function latest(work) {
  let busy = false, again = false;
  return async function go() {
    if (busy) { again = true; return; }
    busy = true;
    try { await work(); } finally {
      busy = false;
      if (again) { again = false; go(); }
    }
  };
}

/** Fetch and answer {ok, status, data}; a lost line is an answer too. */
export async function ask(path, options = {}) {
  try {
    const answer = await fetch(path, { headers: { accept: "application/json, text/html;q=0.5" }, ...options });
    const kind = answer.headers.get("content-type") || "";
    const data = kind.includes("json") ? await answer.json() : await answer.text();
    return { ok: answer.ok, status: answer.status, data };
  } catch {
    return { ok: false, status: 0, data: { field: "", message: "The laptop does not answer; nothing was lost, try again." } };
  }
}

export const post = (path, body) => ask(path, { method: "POST", body: body instanceof FormData ? body : form(body) });

function form(values = {}) {
  const made = new FormData();
  for (const [name, value] of Object.entries(values)) made.append(name, value);
  return made;
}

let hush;
export function notice(text, seconds = 4) {
  const place = document.getElementById("notice");
  place.textContent = text;
  clearTimeout(hush);
  hush = setTimeout(() => { place.textContent = ""; }, seconds * 1000);
}

/** Show an error beside its field, or as a notice when it belongs to none. */
export function showError(within, field, message) {
  const input = field && within.querySelector(`[name="${CSS.escape(field)}"]`);
  const place = input && document.getElementById(`${input.id}-error`);
  if (!place) { notice(message, 8); return; }
  place.textContent = message;
  place.hidden = !message;
  input.setAttribute("aria-invalid", message ? "true" : "false");
  if (message) input.focus();
}

export function clearErrors(within) {
  for (const place of within.querySelectorAll(".error")) { place.hidden = true; place.textContent = ""; }
  for (const input of within.querySelectorAll("[aria-invalid]")) input.removeAttribute("aria-invalid");
}

/** Read each typed quantity back as it was understood. */
export function readBack(root = document) {
  for (const input of root.querySelectorAll("input[data-kind]")) {
    if (input.dataset.wired) continue;
    input.dataset.wired = "yes";
    const read = document.getElementById(`${input.id}-read`), wrong = document.getElementById(`${input.id}-error`);
    const look = latest(async () => {
      const text = input.value.trim();
      if (!text) {
        if (read) read.textContent = "";
        if (wrong && !("said" in wrong.dataset)) { wrong.hidden = true; input.removeAttribute("aria-invalid"); }
        return;
      }
      const query = new URLSearchParams({ text, kind: input.dataset.kind, field: input.name });
      const { ok, data } = await ask(`/understood?${query}`);
      if (input.value.trim() !== text) return;
      if (read) read.textContent = ok ? data.words : "";
      // What the laptop said of the whole form stands until the field is typed into again.
      if (wrong && "said" in wrong.dataset) return;
      // While typing, half a quantity is no error yet.
      if (ok || document.activeElement !== input) {
        if (wrong) { wrong.hidden = ok; wrong.textContent = ok ? "" : data.problem || data.message; }
        input.setAttribute("aria-invalid", ok ? "false" : "true");
      }
    });
    input.addEventListener("input", () => { if (wrong) delete wrong.dataset.said; look(); });
    input.addEventListener("change", look);
    input.addEventListener("blur", look);
    if (input.value) look();
  }
}

/** Fetch the parts of the page that change when the project does. */
export async function refreshParts(root = document) {
  await Promise.all([...root.querySelectorAll("[data-part]")].map(async part => {
    if (part.contains(document.activeElement) && document.activeElement.matches("input, textarea, select")) {
      part.dataset.stale = "yes";
      return;
    }
    // Drawings are drawn for the width that they get, never scaled afterwards.
    const path = new URL(part.dataset.part, location.href);
    path.searchParams.set("width", Math.round(part.clientWidth));
    const { ok, data } = await ask(path);
    if (!ok || typeof data !== "string") return;
    part.innerHTML = data;
    readBack(part);
    part.dispatchEvent(new CustomEvent("refreshed", { bubbles: true }));
  }));
}
document.addEventListener("focusout", () => setTimeout(() => {
  if (document.querySelector("[data-stale]")) {
    for (const part of document.querySelectorAll("[data-stale]")) delete part.dataset.stale;
    refreshParts();
  }
}, 50));

/** Start long work; draw its bar at `place`; resolve when it is done. */
export async function runJob(path, body, place) {
  const { ok, data } = await post(path, body);
  if (!ok) { notice(data.message, 8); return null; }
  return followJob(data, place);
}

export async function followJob(job, place) {
  const box = document.createElement("div");
  box.className = "progress";
  box.innerHTML = '<p><span class="step"></span></p><progress max="1" value="0"></progress><p><button type="button">Cancel</button></p>';
  const bar = box.querySelector("progress"), step = box.querySelector(".step");
  bar.setAttribute("aria-label", job.title);
  box.querySelector("button").addEventListener("click", () => post(`/job/${job.name}/cancel`));
  place.replaceChildren(box);
  while (job.state === "running") {
    bar.value = job.fraction;
    step.textContent = `${job.step || job.title}: ${Math.round(100 * job.fraction)} %`;
    await new Promise(done => setTimeout(done, 200));
    const { ok, data, status } = await ask(`/job/${job.name}`);
    if (ok) job = data; else if (status) { job = { ...job, state: "failed", message: data.message }; }
  }
  box.remove();
  if (job.state === "failed") notice(job.message, 10);
  if (job.state === "cancelled") notice("Stopped.");
  return job.state === "done" ? job : null;
}

// ---------------------------------------------------------------- the line to the laptop
const listeners = new Set();
export function onMessage(listener) { listeners.add(listener); }

function connect() {
  const link = document.getElementById("link");
  if (!link) return;
  let failures = 0, known = null;
  const say = (state, words) => { link.dataset.state = state; link.querySelector(".words").textContent = words; };
  const changed = latest(() => refreshParts());
  (function open() {
    const socket = new WebSocket(location.origin.replace("http", "ws") + "/live");
    socket.onopen = () => { failures = 0; say("live", "live"); };
    socket.onmessage = event => {
      const message = JSON.parse(event.data);
      if (message.moved) { location.href = "/"; return; }
      if ("changed" in message) {
        // The first message after a reconnection tells whether anything was missed.
        if (known !== null && known !== message.changed) changed();
        known = message.changed;
      }
      for (const listener of listeners) listener(message);
    };
    socket.onclose = () => {
      say("lost", "laptop not reached");
      setTimeout(open, Math.min(5000, 400 * 2 ** Math.min(failures++, 4)));
    };
  })();
}

function wire() {
  connect();
  readBack();
  const undo = document.getElementById("undo");
  undo?.addEventListener("click", async () => {
    const { ok, data } = await post("/undo");
    notice(ok ? `Taken back: ${data.undone}` : data.message);
    showUndo(data.next || "");
    refreshParts();
  });
  const bring = document.getElementById("bring-in");
  bring?.addEventListener("submit", async event => {
    event.preventDefault();
    clearErrors(bring);
    const { ok, data } = await post("/import", new FormData(bring));
    const report = document.getElementById("bring-report");
    report.replaceChildren();
    if (!ok && data.message) { showError(bring, data.field || "file", data.message); return; }
    const list = document.createElement("ul");
    for (const line of data.words || []) list.append(Object.assign(document.createElement("li"), { textContent: line }));
    for (const row of data.problems || []) list.append(Object.assign(document.createElement("li"), { className: "error", textContent: `row ${row.row}, ${row.field}: ${row.reason}` }));
    report.append(list);
    refreshParts();
  });
  document.addEventListener("click", async event => {
    const button = event.target.closest("button[data-job]");
    if (!button) return;
    const place = document.createElement("div");
    button.replaceWith(place);
    const job = await runJob(button.dataset.job, {}, place);
    if (job && button.dataset.then) location.href = button.dataset.then; else place.replaceWith(button);
  });
  for (const part of document.querySelectorAll("[data-part][data-empty]")) { delete part.dataset.empty; refreshParts(part.parentElement); }
}

export function showUndo(what) {
  const undo = document.getElementById("undo");
  if (!undo) return;
  undo.hidden = !what;
  undo.setAttribute("aria-label", what ? `Undo: ${what}` : "Undo");
  document.getElementById("undo-what").textContent = what ? `: ${what}` : "";
}

wire();

// On a narrow screen the strip scrolls: show which page this is.
const strip = document.querySelector(".strip nav"), here = strip?.querySelector("a[aria-current]");
if (here) strip.scrollLeft = here.offsetLeft - (strip.clientWidth - here.offsetWidth) / 2;
