"use strict";
// A form is sent once: a second press while the first is on its way does nothing. The server
// keeps the same promise by the form's token; this only spares the wait.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post" || event.defaultPrevented) return;
  if (form.dataset.sending) {
    event.preventDefault();
    return;
  }
  form.dataset.sending = "yes";
});
// Coming back with the browser's own button shows the page as it was left: let it be sent again.
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sending]")) delete form.dataset.sending;
});
document.addEventListener("htmx:afterRequest", (event) => {
  const form = event.target.closest?.("form[data-sending]");
  if (form) delete form.dataset.sending;
});
// A message that the server couldn't answer, said where a screen reader hears it.
for (const name of ["htmx:sendError", "htmx:responseError"]) {
  document.addEventListener(name, () => {
    const place = document.getElementById("trouble");
    if (!place) return;
    place.hidden = false;
    place.textContent =
      name === "htmx:sendError"
        ? "No answer from the site. What you typed is still here: check the connection and try again."
        : "The site couldn't do that. What you typed is still here: try again, or reload the page.";
  });
}
