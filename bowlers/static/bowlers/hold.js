"use strict";
// What is typed is held in this browser until the server says it has it. One entry for each form,
// by who is signed in, the page's path and a key; the page says whether anything is held here only.
// On a tablet that several share, another finds nothing of it, and whoever typed it all of it.

const HELD = "hookwright-held:";
const OWN = `${HELD}${document.body.dataset.person}:`;
const OLDEST_MS = 30 * 24 * 3600 * 1000;

const hold = {
  key: (key, path = location.pathname) => `${OWN}${path}:${key}`,

  get(key, path) {
    try {
      return JSON.parse(localStorage.getItem(hold.key(key, path)));
    } catch {
      return null;
    }
  },

  put(key, entry) {
    try {
      localStorage.setItem(hold.key(key), JSON.stringify({ ...entry, at: Date.now() }));
    } catch {
      // A browser that keeps nothing: the server still gets it on every change.
    }
    hold.say();
  },

  release(key, path) {
    try {
      localStorage.removeItem(hold.key(key, path));
    } catch {
      // Nothing was kept.
    }
    hold.say();
  },

  // Entries of this page, the oldest first: [key, entry].
  all() {
    const found = [];
    const here = hold.key("");
    try {
      for (const name of Object.keys(localStorage)) {
        if (!name.startsWith(HELD)) continue;
        const entry = JSON.parse(localStorage.getItem(name));
        if (Date.now() - entry.at > OLDEST_MS) localStorage.removeItem(name);
        else if (name.startsWith(here)) found.push([name.slice(here.length), entry]);
      }
    } catch {
      return found;
    }
    return found.sort((a, b) => a[1].first - b[1].first);
  },

  fields(form) {
    const fields = Object.fromEntries(new FormData(form));
    delete fields.csrfmiddlewaretoken;
    return fields;
  },

  // What somebody typed: the version it was opened at is none of it, and moves on when it is kept.
  typed(form) {
    return JSON.stringify({ ...hold.fields(form), record_version: "" });
  },

  say() {
    const place = document.getElementById("kept-where");
    if (!place) return;
    const count = hold.all().length;
    place.dataset.held = count;
    place.textContent = count
      ? `On this tablet only: ${count === 1 ? "one entry is" : `${count} entries are`} not yet with the shop’s computer. They are kept here and sent when it answers.`
      : "Saved: the shop’s computer has everything typed here.";
  },
};

// A whole form held as one entry, in a page that isn't made of rows.
const whole = () => document.querySelector("form[data-hold]");
document.addEventListener("input", (event) => {
  const form = event.target.closest?.("form[data-hold]");
  if (form) hold.put("form", { fields: hold.fields(form), first: Date.now() });
});
document.addEventListener("htmx:beforeRequest", (event) => {
  const form = event.detail.elt.closest?.("form[data-hold]");
  const entry = form && hold.get("form");
  if (entry) event.detail.xhr.held = hold.typed(form);
});
document.addEventListener("htmx:afterRequest", (event) => {
  const { xhr } = event.detail;
  if (!whole() || xhr?.getResponseHeader("X-Kept") !== "form") return;
  if (hold.typed(whole()) === xhr.held) hold.release("form");
});
const tell = (form, name) =>
  form.querySelector("input:not([type=hidden])")?.dispatchEvent(new Event(name, { bubbles: true }));
// What couldn't be sent is sent again, unless it was refused or is still being typed.
function again() {
  const entry = hold.get("form");
  if (!entry || Date.now() - entry.at < 2500 || whole().querySelector(".delivery-wrong, .conflict")) return;
  tell(whole(), "change");
}
window.addEventListener("online", () => whole() && again());
window.addEventListener("DOMContentLoaded", () => {
  // Sent by a form that led here: "#kept=/fittings/7/ring/".
  const sent = location.hash.match(/^#kept=(.+)$/)?.[1];
  if (sent) hold.release("form", sent);
  const form = whole();
  const entry = form && hold.get("form");
  if (entry && form.querySelector(".conflict")) {
    // The page has brought all of it back, and says what it would be put in the place of.
    hold.put("form", { ...entry, fields: hold.fields(form) });
  } else if (entry) {
    for (const [name, value] of Object.entries(entry.fields)) {
      const box = form.elements[name];
      if (box && name !== "form_token" && box.type !== "submit") box.value = value;
    }
    tell(form, "input");
    tell(form, "change");
  }
  hold.say();
  if (form) setInterval(again, 5000);
});
