"use strict";
// The fitting page: "=" copies the last row, a box is ready to be typed over, mistakes are marked
// in their box. What is typed is held in the browser until the server has it (hold.js); a row that
// can't be sent waits its turn below, so that the next can be logged meanwhile. Without a script
// rows are saved all the same.

const RETRY_MS = 4000;
const IDLE_MS = 2500;
const rowOf = (element) => element.closest?.("form[data-row]");
const keyOf = (row) => row.elements.row_key.value;
const boxesOf = (row) => [...row.querySelectorAll(".delivery-reading input")];
const nextRow = () => document.getElementById("next");

function mark(row) {
  const note = row?.querySelector(".delivery-note");
  if (!note) return;
  const wrong = new Set(note.dataset.wrong.split(" "));
  for (const box of boxesOf(row)) {
    box.toggleAttribute("aria-invalid", false);
    if (wrong.has(box.name)) box.setAttribute("aria-invalid", "true");
  }
}

function say(row, words) {
  const note = row?.querySelector(".delivery-note");
  if (!note) return;
  const line = document.createElement("p");
  line.className = "delivery-wrong";
  line.textContent = words;
  note.replaceChildren(line);
}

function freshKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

// ---- held until the server has it ----

function keepHere(row, more = {}) {
  const key = keyOf(row);
  const earlier = hold.get(key);
  hold.put(key, {
    first: earlier?.first ?? Date.now(),
    action: row.getAttribute("action"),
    fields: hold.fields(row),
    ...more,
  });
}

const told = (row) => JSON.stringify(boxesOf(row).map((box) => box.value));

// The row as it stands waits to be sent; the boxes are free for the next delivery.
function setAside(row) {
  keepHere(row, { waiting: true });
  listWaiting();
  row.elements.row_key.value = freshKey();
  row.elements.form_token.value = freshKey();
  row.elements.record_version.value = "";
  for (const box of boxesOf(row)) if (!box.name.startsWith("pap_")) box.value = "";
  row.querySelector(".delivery-derived")?.replaceChildren();
  say(row, "No connection to the shop’s computer: the delivery waits below and is sent when it is back. Go on with the next.");
  boxesOf(row)[0]?.focus();
}

function listWaiting() {
  const list = document.getElementById("waiting");
  if (!list) return;
  const waiting = hold.all().filter(([, entry]) => entry.waiting);
  list.replaceChildren(
    ...waiting.map(([key, entry]) => {
      const line = document.createElement("li");
      const typed = boxesOf(nextRow() ?? document).map((box) => entry.fields[box.name]);
      line.textContent = `Not sent yet: ${typed.filter(Boolean).join(" · ")}. ${entry.refused ?? ""} `;
      if (entry.refused) {
        const back = document.createElement("button");
        back.type = "button";
        back.className = "btn btn-outline-secondary touch";
        back.textContent = "Put it into the boxes";
        back.addEventListener("click", () => {
          fill(nextRow(), key, entry);
          boxesOf(nextRow())[0]?.focus();
        });
        line.append(back);
      }
      return line;
    }),
  );
  list.hidden = !waiting.length;
}

function fill(row, key, entry) {
  if (!row) return;
  for (const box of boxesOf(row)) box.value = entry.fields[box.name] ?? box.value;
  row.elements.row_key.value = key;
  keepHere(row, { waiting: false });
  listWaiting();
}

// Rows in their boxes that aren't stored yet, once nobody is typing in them: kept as on a change.
function keepAgain() {
  for (const row of document.querySelectorAll("form[data-row]")) {
    const entry = hold.get(keyOf(row));
    const isWrong = row.querySelector(".delivery-note")?.dataset.wrong.trim();
    if (!entry || entry.waiting || isWrong || Date.now() - entry.at < IDLE_MS) continue;
    boxesOf(row)[0]?.dispatchEvent(new Event("change", { bubbles: true }));
  }
}

let sending = false;

async function send() {
  const waiting = hold.all().filter(([, entry]) => entry.waiting && !entry.refused);
  if (sending || !nextRow()) return;
  if (!waiting.length) {
    keepAgain();
    return;
  }
  sending = true;
  let sent = 0;
  try {
    for (const [key, entry] of waiting) {
      const body = new FormData();
      for (const [name, value] of Object.entries(entry.fields)) body.append(name, value);
      body.append("csrfmiddlewaretoken", nextRow().elements.csrfmiddlewaretoken.value);
      const answer = await fetch(entry.action, { method: "POST", body, headers: { ...JSON.parse(document.body.getAttribute("hx-headers")), "HX-Request": "true" } });
      const isHere = new URL(answer.url).pathname === entry.action;
      if (isHere && (answer.status === 204 || answer.headers.get("X-Kept") === key)) {
        hold.release(key);
        sent += 1;
      } else if (answer.status === 422) {
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        const why = [...page.querySelectorAll(".delivery-wrong")].map((line) => line.textContent);
        hold.put(key, { ...entry, refused: why.join(" ") });
      } else break;
    }
  } catch {
    // Still no connection: the next try is on its way.
  } finally {
    sending = false;
    listWaiting();
  }
  // The rows as the server has them; what is being typed is held and comes back into its boxes.
  if (sent) location.reload();
}

document.addEventListener("input", (event) => {
  const row = rowOf(event.target);
  if (row) keepHere(row);
});
document.addEventListener("htmx:beforeRequest", (event) => {
  const row = rowOf(event.detail.elt);
  if (row) event.detail.xhr.told = told(row);
});
document.addEventListener("htmx:beforeSwap", (event) => {
  const { xhr } = event.detail;
  const key = xhr.getResponseHeader("X-Kept");
  const row = key && [...document.querySelectorAll("form[data-row]")].find((r) => keyOf(r) === key);
  // More may have been typed while the answer was on its way.
  if (row && told(row) === xhr.told) hold.release(key);
});

window.addEventListener("DOMContentLoaded", () => {
  const rows = [...document.querySelectorAll("form[data-row]")];
  for (const [key, entry] of hold.all()) {
    if (entry.waiting) continue;
    const row = rows.find((r) => keyOf(r) === key);
    if (row) fill(row, key, entry);
    else if (nextRow() && !hold.get(keyOf(nextRow()))) fill(nextRow(), key, entry);
    else hold.put(key, { ...entry, waiting: true });
  }
  // Typed while the page was still loading, before anything here listened.
  for (const row of rows) {
    const typed = boxesOf(row).find((box) => box.value !== box.defaultValue);
    typed?.dispatchEvent(new Event("input", { bubbles: true }));
  }
  listWaiting();
  send();
  setInterval(send, RETRY_MS);
});
window.addEventListener("online", send);
document.addEventListener("submit", (event) => {
  if (!event.target.closest("#finish")) return;
  if (!hold.all().some(([, entry]) => entry.waiting)) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  say(nextRow(), "Not finished: a delivery below is on this tablet only. Finish when it is sent.");
  send();
}, true);

// ---- the keyboard ----

document.addEventListener("focusin", (event) => {
  if (event.target.matches(".delivery-reading input")) event.target.select();
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "=" || !event.target.matches(".delivery-next .delivery-reading input")) return;
  event.preventDefault();
  rowOf(event.target).querySelector("[data-again]").click();
});

// After a row that was there already is saved, go on with the next one.
document.addEventListener("htmx:afterSettle", (event) => {
  const path = event.detail.requestConfig?.path ?? "";
  const row = rowOf(event.detail.requestConfig?.elt ?? event.target);
  if (path.endsWith("/rows/") && event.detail.xhr?.status === 200 && !row?.hasAttribute("data-next")) {
    document.querySelector("#next .delivery-reading input")?.focus();
  }
});
document.addEventListener("htmx:afterRequest", (event) => mark(rowOf(event.detail.elt)));

// ---- what couldn't be sent ----

// Signed out meanwhile: the answer is the sign-in page, which must not land in the row.
document.addEventListener("htmx:beforeSwap", (event) => {
  const asked = event.detail.requestConfig?.path?.split("?")[0];
  const answered = event.detail.xhr.responseURL;
  if (!asked || !answered || new URL(answered).pathname === asked) return;
  event.detail.shouldSwap = false;
  say(rowOf(event.detail.requestConfig.elt), "Not saved: you have been signed out. Sign in again in another tab, then save this row; what you typed is still here.");
});
document.addEventListener("htmx:sendError", (event) => {
  const elt = event.detail.requestConfig?.elt ?? event.target;
  const row = rowOf(elt);
  if (!row || elt.hasAttribute("data-quiet")) return;
  if (elt === row && row.hasAttribute("data-next") && boxesOf(row).some((box) => box.value.trim())) setAside(row);
  else say(row, "Not saved: no connection to the shop’s computer. What you typed is kept on this tablet; save the row again when it is back.");
});
document.addEventListener("htmx:responseError", (event) => {
  say(rowOf(event.detail.requestConfig?.elt ?? event.target), "Not saved: something went wrong here. What you typed is still in the boxes; save the row again.");
});
