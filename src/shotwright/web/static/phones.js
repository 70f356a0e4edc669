// Give out codes, send phones away, show a phone that has just joined.
import { ask, notice, onMessage, post } from "/static/app.js";

document.getElementById("add-phone")?.addEventListener("click", async () => {
  const { ok, data } = await ask("/phones/add", { method: "POST" });
  if (ok) document.getElementById("code").innerHTML = data; else notice(data.message, 8);
});
for (const button of document.querySelectorAll(".remove-phone")) {
  button.addEventListener("click", async () => {
    await post("/phones/remove", { digest: button.dataset.digest });
    location.reload();
  });
}
onMessage(message => { if ("phones" in message) location.reload(); });
