// Shows how far a plan is, and goes to it once it is there. Without this the page asks anew by itself.

const card = document.querySelector("[data-job]");
const bar = card.querySelector("progress");
const stage = card.querySelector("[data-stage]");

async function look() {
  try {
    const answer = await fetch(card.dataset.job, { headers: { Accept: "application/json" }, cache: "no-store" });
    if (!answer.ok) return location.reload();
    const job = await answer.json();
    if (job.state !== "running") return location.reload();
    bar.value = job.done;
    bar.textContent = `${Math.round(100 * job.done)} %`;
    // Said again only when it changes, for those who listen.
    if (stage.textContent !== job.stage) stage.textContent = job.stage;
  } catch { /* the connection is lost, which the page says by itself; the work goes on */ }
  setTimeout(look, 700);
}
setTimeout(look, 400);
