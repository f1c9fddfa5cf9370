// On the table swaps and holds happen in place. Without this script each is a plain link or form.

const main = document.getElementById("main");
const live = document.createElement("p");
live.className = "quiet";
live.setAttribute("role", "status");
document.body.append(live);

let shown = location.pathname + location.search;
let latest = 0;

const top = (element) => element?.getBoundingClientRect().top;

/** What was typed into the form below and not yet sent, to be put back. */
function typed() {
  const fields = [...main.querySelectorAll("#make input:not([type=hidden]), #make select")];
  return fields.filter((f) => f.value !== f.defaultValue || f.tagName === "SELECT").map((f) => [f.name, f.value]);
}

/** Show another address in place of the main part; `spot` is where the eye is to stay. */
async function go(address, { push = true, from = document.activeElement, spot = "" } = {}) {
  const turn = ++latest;
  main.setAttribute("aria-busy", "true");
  let answer, text;
  try {
    answer = await fetch(address, { headers: { Accept: "text/html" } });
    text = await answer.text();
  } catch {
    if (turn === latest) {
      main.removeAttribute("aria-busy");
      live.textContent = "No connection. The kit lies as it was; try again.";
    }
    return;
  }
  if (turn !== latest) return;
  const page = new DOMParser().parseFromString(text, "text/html");
  const next = page.getElementById("main");
  if (!next) { location.href = address; return; }
  const id = main.contains(from) ? from.id : "";
  const before = top(main.contains(from) ? from : null);
  const open = [...main.querySelectorAll("details[open][id]")].map((one) => one.id);
  const kept = typed();
  main.replaceChildren(...next.childNodes);
  main.removeAttribute("aria-busy");
  document.title = page.title;
  const reached = new URL(answer.url);
  shown = reached.pathname + reached.search;
  if (push) history.pushState(null, "", shown);
  for (const one of open) { const again = document.getElementById(one); if (again) again.open = true; }
  document.dispatchEvent(new CustomEvent("laid", { detail: main }));
  for (const [name, value] of kept) {
    const field = main.querySelector(`#make [name="${name}"]`);
    if (field) field.value = value;
  }
  if (kept.length) main.querySelector("#make")?.dispatchEvent(new Event("input"));
  const same = document.getElementById(id) || document.getElementById(spot) || (id || spot ? document.getElementById("anew") : null);
  if (same) {
    same.focus({ preventScroll: true });
    if (before !== undefined) scrollBy(0, top(same) - before);
  }
  live.textContent = main.querySelector("[data-told]")?.textContent ?? main.querySelector("h1")?.textContent ?? "";
}

document.addEventListener("click", (event) => {
  const link = event.target.closest("#main a.touch, #main a[data-inplace]");
  if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  event.preventDefault();
  const address = link.getAttribute("href");
  // A cookie like another stands for the first of its sort.
  const spot = link.dataset.spot || "";
  go(address, { from: link, spot });
});

document.addEventListener("submit", (event) => {
  const form = event.target.closest("form[data-inplace]");
  if (!form) return;
  event.preventDefault();
  const query = new URLSearchParams(new FormData(form, event.submitter));
  go(`${form.getAttribute("action").split("#")[0]}?${query}`, { from: event.submitter, spot: form.dataset.spot || form.querySelector("input[id]")?.id });
});

// A long list to choose from shows, while a name is typed, what has its words.
document.addEventListener("input", (event) => {
  const form = event.target.matches("[data-filter]") && event.target.form;
  if (!form) return;
  const words = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
  let found = 0;
  for (const one of form.querySelectorAll(".all li")) {
    const name = one.querySelector("strong, button span")?.firstChild?.textContent.toLowerCase() ?? "";
    one.hidden = !words.every((word) => name.includes(word));
    found += !one.hidden;
  }
  form.querySelector("[data-found]").textContent = words.length ? `${found} found` : "";
});

addEventListener("popstate", () => {
  if (location.pathname + location.search !== shown) go(location.href, { push: false });
});
