// A form with a file shows how far it is and can be stopped. Without this script it is sent as any other form.

const SENT = "Sent. Reading it…";

/** A line with a bar, words and a button, beneath the button that was pressed. */
function waiting(button) {
  const box = document.createElement("div");
  box.className = "note row underway";
  const words = document.createElement("p");
  words.setAttribute("role", "status");
  const bar = document.createElement("progress");
  bar.max = 1;
  bar.setAttribute("aria-label", "How far it is");
  const stop = document.createElement("button");
  stop.type = "button";
  stop.textContent = "Stop";
  box.append(words, bar, stop);
  button.after(box);
  return {
    stop,
    // Said again only when it changes, for those who listen.
    say: (text) => { if (words.textContent !== text) words.textContent = text; },
    show: (share) => { if (share === null) bar.removeAttribute("value"); else bar.value = share; },
    away: () => box.remove(),
  };
}

/** Words for an answer that is no page of its own. */
function told(request) {
  const page = new DOMParser().parseFromString(request.responseText, "text/html");
  const heading = page.querySelector("main [role=alert], main h1")?.textContent.trim().replace(/\s+/g, " ");
  return heading || `themekit could not take it (${request.status}). Nothing was changed; what you typed stays here.`;
}

function send(form, button) {
  const data = new FormData(form);
  if (button?.name) data.append(button.name, button.value);
  const name = crypto.randomUUID?.() ?? String(Math.random()).slice(2);
  data.append("underway", name);
  const own = waiting(button ?? form.lastElementChild);
  const request = new XMLHttpRequest();
  let asking = 0;
  const over = (text) => {
    clearInterval(asking);
    own.away();
    form.removeAttribute("aria-busy");
    for (const one of form.querySelectorAll("button")) one.disabled = false;
    sessionStorage.removeItem("sent");
    if (!text) return;
    const note = document.createElement("p");
    note.className = "note wrong";
    note.setAttribute("role", "alert");
    note.textContent = text;
    (button ?? form.lastElementChild).after(note);
  };
  const ask = async () => {
    try {
      const answer = await fetch(`/underway/${name}`, { headers: { Accept: "application/json" }, cache: "no-store" });
      if (!answer.ok) return;
      const { done, of } = await answer.json();
      if (!of) return;
      own.show(done / of);
      own.say(`Reading: ${Math.round(100 * done / of)} % of the rows`);
    } catch { /* the connection is lost, which the request itself will tell */ }
  };
  own.say("Sending…");
  own.show(0);
  request.upload.addEventListener("progress", (event) => {
    if (!event.lengthComputable) return;
    own.show(event.loaded / event.total);
    own.say(`Sending: ${Math.round(100 * event.loaded / event.total)} %`);
  });
  request.upload.addEventListener("load", () => {
    own.show(null);
    own.say(SENT);
    if (form.classList.contains("reads")) asking = setInterval(ask, 500);
  });
  request.addEventListener("load", () => {
    clearInterval(asking);
    // The answer has an address of its own, to which the browser was led.
    const led = new URL(request.responseURL);
    if (request.status < 400 && led.href !== new URL(form.action, location.href).href) location.assign(led.href);
    else over(told(request));
  });
  request.addEventListener("error", () => over("themekit does not answer. Nothing was changed; what you typed stays here."));
  own.stop.addEventListener("click", () => {
    request.abort();
    fetch(`/underway/${name}/stop`, { method: "POST" }).catch(() => {});
    over("");
    button?.focus();
  });
  // Leaving and coming back finds the form as it was.
  addEventListener("pageshow", (event) => { if (event.persisted) over(""); });
  form.setAttribute("aria-busy", "true");
  for (const one of form.querySelectorAll("button")) if (one !== own.stop) one.disabled = true;
  request.open("POST", form.action);
  request.setRequestHeader("Accept", "text/html");
  request.send(data);
}

for (const form of document.querySelectorAll("form[enctype='multipart/form-data']")) {
  form.addEventListener("submit", (event) => {
    const files = [...form.querySelectorAll("input[type=file]")];
    if (event.defaultPrevented || !(form.elements.kept || files.some((one) => one.files.length))) return;
    event.preventDefault();
    for (const old of form.querySelectorAll(".note.wrong[role=alert]:not(section)")) old.remove();
    send(form, event.submitter);
  });
}

// A picture is read as soon as it is taken.
for (const file of document.querySelectorAll(".photo input[type=file]")) {
  file.addEventListener("change", () => {
    if (file.files.length) file.form.requestSubmit(file.closest(".photo").querySelector("[name=read]"));
  });
}
