// Small helps on top of pages that work without any script.

// What a script of this page sends to its own service carries the page's token, as its forms do.
const token = document.querySelector("meta[name=csrf]")?.content;
if (token) {
  const send = window.fetch;
  window.fetch = (what, how = {}) => {
    const asked = new Request(what, how);
    if (new URL(asked.url).origin === location.origin) asked.headers.set("X-CSRF-Token", token);
    return send(asked);
  };
}

// A button that was pressed says so, and is not pressed twice.
document.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (!button || event.target.method === "dialog") return;
  setTimeout(() => {
    // A form that is answered in place stays where it is.
    if (event.defaultPrevented) return;
    button.disabled = true;
    button.setAttribute("aria-busy", "true");
  }, 0);
  addEventListener("pageshow", () => { button.disabled = false; button.removeAttribute("aria-busy"); });
});

// What is typed is kept on this device until it was sent, so that a lost connection loses nothing.
for (const area of document.querySelectorAll("[data-keep]")) {
  const key = `kept:${location.pathname}:${area.name}`;
  try {
    if (!area.value && sessionStorage.getItem(key)) area.value = sessionStorage.getItem(key);
    area.addEventListener("input", () => sessionStorage.setItem(key, area.value));
    area.form?.addEventListener("submit", () => { if (navigator.onLine) sessionStorage.removeItem(key); });
  } catch { /* storage may be off; typing works all the same */ }
}

// Say when the connection is lost.
const lost = document.createElement("p");
lost.className = "lost";
lost.setAttribute("role", "status");
lost.hidden = true;
lost.textContent = "No connection. What you typed stays here; try again when it is back.";
document.body.append(lost);
const tell = () => { lost.hidden = navigator.onLine; };
addEventListener("online", tell);
addEventListener("offline", tell);
tell();

// A field of colours gets a colour picker that writes into it.
const pickers = (root) => { for (const field of root.querySelectorAll("[data-colours]")) {
  const pick = document.createElement("input");
  pick.type = "color";
  pick.setAttribute("aria-label", "Pick a colour to write into the field");
  pick.className = "pick";
  const first = () => (field.value.match(/#[0-9a-f]{6}/i) || ["#c8253b"])[0];
  pick.value = first();
  field.addEventListener("change", () => { pick.value = first(); });
  pick.addEventListener("input", () => {
    field.value = /#[0-9a-f]{6}/i.test(field.value) ? field.value.replace(/#[0-9a-f]{6}/i, pick.value) : pick.value;
  });
  field.after(pick);
} };
pickers(document);
// The table lays its main part anew in place.
document.addEventListener("laid", (event) => pickers(event.detail));

// A text to send can be copied with one tap.
for (const area of document.querySelectorAll("[data-copy]")) {
  if (!navigator.clipboard) continue;
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Copy it";
  button.addEventListener("click", async () => {
    await navigator.clipboard.writeText(area.value);
    button.textContent = "Copied";
  });
  area.after(button);
}
