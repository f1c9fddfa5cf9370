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

// What is typed is kept on this device until it was sent and answered, so that a lost connection loses nothing.
// Never of passwords and files. A form that is refused comes back with what was typed in it, at an address of its own;
// the draft stays for whoever goes back from there. Of hidden fields those
// that say what the form was made from go along, so that the service sees what was changed elsewhere meanwhile, and
// the same form sent twice.
const drafts = (() => { try { sessionStorage.length; return sessionStorage; } catch { return null; } })();
const ORIGIN = ["version", "was", "were", "colours", "key"];
// A letter is kept by its message, below.
const kept = (field) => field.name && !field.disabled && (field.type !== "hidden" || ORIGIN.includes(field.name)) && !["password", "file", "submit", "button"].includes(field.type) && !field.dataset.letter;
// What a form is of, such as one kit, is told by data-of: a draft is for that alone.
const keyOf = (form) => `draft:${location.pathname}:${form.getAttribute("action") || ""}:${form.id}:${form.dataset.of || ""}`;
const valuesOf = (form) => [...form.elements].filter(kept).map((f) => [f.name, f.type === "checkbox" || f.type === "radio" ? (f.checked ? f.value : null) : f.type === "select-multiple" ? null : f.value]);
const fill = (form, values, seen = false) => [...form.elements].filter(kept).forEach((field, i) => {
  if (!values[i] || values[i][0] !== field.name || (seen && field.type === "hidden")) return;
  const value = values[i][1];
  if (field.type === "checkbox" || field.type === "radio") field.checked = value === field.value;
  else if (value !== null) field.value = value;
});
const letGo = (key) => { drafts.removeItem(key); drafts.removeItem(`brought:${key}`); };
const refused = () => document.querySelector("main [role=alert]");
// A draft that was sent is let go once its answer came: a page that this form led to. Coming back, loading the form
// again or going elsewhere is no answer.
const here = location.href.split("#")[0];
const sent = JSON.parse(drafts?.getItem("sent") || "null");
if (sent) {
  const way = performance.getEntriesByType("navigation")[0]?.type;
  const led = document.referrer.split("#")[0] === sent.from && (way === "navigate" || here !== sent.from);
  if (led && !refused()) letGo(sent.key);
  drafts.removeItem("sent");
}
addEventListener("pageshow", (event) => { if (event.persisted) drafts?.removeItem("sent"); });
const keepDrafts = (root) => { for (const form of root.querySelectorAll("form[data-draft], form:has([data-keep]), form[method=post].card")) {
  if (!drafts) break;
  const key = keyOf(form);
  const stored = JSON.parse(drafts.getItem(key) || "null");
  const fresh = valuesOf(form);
  // What the server sent back goes first: a form that was refused is not filled over. What was brought back into it
  // before it was sent still stands there, and is told as long as it does.
  const before = refused() ? JSON.parse(drafts.getItem(`brought:${key}`) || "null") : stored && JSON.stringify(stored) !== JSON.stringify(fresh) ? fresh : null;
  if (before) {
    if (!refused()) {
      fill(form, stored);
      drafts.setItem(`brought:${key}`, JSON.stringify(fresh));
    }
    const note = document.createElement("p");
    note.className = "note row";
    note.setAttribute("role", "status");
    note.append("What you had typed here before is back. ");
    const drop = document.createElement("button");
    drop.type = "button";
    drop.textContent = "Start afresh";
    drop.addEventListener("click", () => { fill(form, before, refused()); letGo(key); note.remove(); });
    note.append(drop);
    form.before(note);
  }
  form.addEventListener("input", () => drafts.setItem(key, JSON.stringify(valuesOf(form))));
  // A step on the way keeps the draft of the place that it left.
  form.addEventListener("submit", (event) => { if (event.submitter?.name !== "step") drafts.setItem("sent", JSON.stringify({ key, from: here })); });
} };
keepDrafts(document);
document.addEventListener("laid", (event) => keepDrafts(event.detail));

// A form's own key goes with its place in the browser's history, so that coming back and sending it again is known
// as the same form and makes nothing twice.
for (const form of document.querySelectorAll("form[method=post]")) {
  const field = form.elements.key;
  if (!field) continue;
  const name = `${form.getAttribute("action")}#${form.id}`;
  if (!refused() && history.state?.keys?.[name]) field.value = history.state.keys[name];
  form.addEventListener("submit", () => history.replaceState({ ...history.state, keys: { ...history.state?.keys, [name]: form.elements.key.value } }, ""));
}

// A letter that she changed stays hers when it is worked out anew, until she takes the new one.
const sameLetter = (a, b) => a.trim().split(/\s+/).join(" ") === b.trim().split(/\s+/).join(" ");
for (const area of document.querySelectorAll("[data-letter]")) {
  if (!drafts) break;
  const key = `letter:${area.dataset.letter}`;
  const fresh = area.value;
  const own = JSON.parse(drafts.getItem(key) || "null");
  if (own && !sameLetter(own.text, fresh)) {
    area.value = own.text;
    const note = document.createElement("p");
    note.className = "note row";
    note.setAttribute("role", "status");
    note.append(sameLetter(own.from, fresh) ? "Your own letter is back. " : "The letter was worked out anew; yours is kept here as you wrote it. ");
    const turn = document.createElement("button");
    turn.type = "button";
    turn.textContent = "Show the one worked out now";
    turn.addEventListener("click", () => {
      const mine = area.value === fresh;
      area.value = mine ? own.text : fresh;
      turn.textContent = mine ? "Show the one worked out now" : "Show mine again";
    });
    note.append(turn);
    area.before(note);
  }
  area.addEventListener("input", () => drafts.setItem(key, JSON.stringify({ text: area.value, from: own?.from && sameLetter(own.text, area.value) ? own.from : fresh })));
}

// Say when the connection is lost, and send nothing into the void.
const lost = document.createElement("p");
lost.className = "lost";
lost.setAttribute("role", "status");
lost.hidden = true;
document.body.append(lost);
const say = (words) => { lost.textContent = words; lost.hidden = !words; };
const OFFLINE = "No connection. What you typed stays here; try again when it is back.";
addEventListener("online", () => say(""));
addEventListener("offline", () => say(OFFLINE));
if (!navigator.onLine) say(OFFLINE);
// The service may be gone although the network is there: it is asked now and then while she types, and a form does
// not leave while it is gone.
const GONE = "themekit does not answer, so nothing was sent. What you typed stays here; try again when it is back.";
let gone = false;
let asked = 0;
const ask = async () => {
  asked = Date.now();
  try {
    await fetch("/static/cutter.svg", { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(8000) });
    gone = false;
  } catch { gone = true; }
  return !gone;
};
document.addEventListener("input", () => { if (Date.now() - asked > 10000) ask(); });
// On the window, so that whatever answers a form in place goes first.
window.addEventListener("submit", async (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method === "dialog" || (navigator.onLine && !gone)) return;
  event.preventDefault();
  drafts?.removeItem("sent");
  const button = event.submitter;
  if (!navigator.onLine || !(await ask())) { say(navigator.onLine ? GONE : OFFLINE); return; }
  say("");
  form.requestSubmit(button);
});

// Colours that were tapped are named; a colour that was picked counts.
for (const form of document.querySelectorAll("form.quick")) {
  const line = form.querySelector("[data-tapped]");
  const tell = () => {
    const names = [...form.querySelectorAll("[name=tap]:checked")].map((one) => one.closest("label").title);
    line.textContent = names.length ? `Tapped: ${names.join(", ")}` : "";
  };
  form.addEventListener("change", tell);
  tell();
}
for (const pick of document.querySelectorAll(".swatchrows input[type=color]")) {
  pick.addEventListener("input", () => { pick.closest("li").querySelector("[name=use]").checked = true; });
}
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

// A link that lays a kit out takes along the name that stands in its field.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-along]");
  const field = link && document.getElementById(link.dataset.along);
  if (!field) return;
  const to = new URL(link.href);
  if (field.value.trim()) to.searchParams.set("customer", field.value.trim()); else to.searchParams.delete("customer");
  link.href = to.href;
});

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
