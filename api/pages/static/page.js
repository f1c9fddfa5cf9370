// Small helps on top of pages that work without any script.

// A button that was pressed says so, and is not pressed twice.
for (const form of document.querySelectorAll("form")) {
  form.addEventListener("submit", (event) => {
    const button = event.submitter;
    if (!button || form.method === "dialog") return;
    setTimeout(() => { button.disabled = true; button.setAttribute("aria-busy", "true"); }, 0);
    window.addEventListener("pageshow", () => { button.disabled = false; button.removeAttribute("aria-busy"); });
  });
}

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
