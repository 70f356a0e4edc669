// The planner beside the evidence.
import { clearErrors, post, showError } from "/static/app.js";

const form = document.getElementById("plan");
form?.addEventListener("submit", async event => {
  event.preventDefault();
  clearErrors(form);
  const { ok, data } = await post("/evidence/plan", new FormData(form));
  if (!ok) { showError(form, data.field, data.message); return; }
  document.getElementById("plan-answer").replaceChildren(...data.words.map(text => Object.assign(document.createElement("p"), { textContent: text })));
});
