"use strict";
// The fitting page: "=" copies the last row, a box is ready to be typed over, mistakes are marked
// in their box, and a row that couldn't be sent says so. Saving itself needs no script.

const rowOf = (element) => element.closest?.("form[data-row]");

function mark(row) {
  const note = row?.querySelector(".delivery-note");
  if (!note) return;
  const wrong = new Set(note.dataset.wrong.split(" "));
  for (const box of row.querySelectorAll(".delivery-reading input")) {
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

// Signed out meanwhile: the answer is the sign-in page, which must not land in the row.
document.addEventListener("htmx:beforeSwap", (event) => {
  const asked = event.detail.requestConfig?.path?.split("?")[0];
  const answered = event.detail.xhr.responseURL;
  if (!asked || !answered || new URL(answered).pathname === asked) return;
  event.detail.shouldSwap = false;
  say(rowOf(event.detail.requestConfig.elt), "Not saved: you have been signed out. Sign in again in another tab, then save this row; what you typed is still here.");
});
document.addEventListener("htmx:sendError", (event) => {
  say(rowOf(event.detail.requestConfig?.elt ?? event.target), "Not saved: no connection to the shop’s computer. What you typed is still here; save the row again when it is back.");
});
document.addEventListener("htmx:responseError", (event) => {
  say(rowOf(event.detail.requestConfig?.elt ?? event.target), "Not saved: something went wrong here. What you typed is still in the boxes; save the row again.");
});
