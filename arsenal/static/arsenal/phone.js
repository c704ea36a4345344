// The bowler's page: kept for when there is no signal, says how old it is, and loses no report.
"use strict";
(() => {
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/mine/worker.js", { scope: "/mine/" });

  const age = document.getElementById("age");
  const OLD_MS = 2 * 60 * 1000;

  function tellAge() {
    const served = new Date(age.dataset.served);
    const old = Date.now() - served > OLD_MS;
    age.hidden = !old && navigator.onLine;
    if (age.hidden) return;
    const when = served.toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    age.textContent = (navigator.onLine ? "" : "No signal. ") + "This is the page as it was on " + when + ".";
  }

  // Back in reach: fetch the page anew, unless somebody is filling the form in.
  function backOnline() {
    tellAge();
    const old = Date.now() - new Date(age.dataset.served) > OLD_MS;
    const form = document.getElementById("report-form");
    if (old && !(form && form.contains(document.activeElement))) location.reload();
  }

  if (age) {
    tellAge();
    addEventListener("online", backOnline);
    addEventListener("offline", tellAge);
    addEventListener("pageshow", tellAge);
  }

  const form = document.getElementById("report-form");
  const trouble = document.getElementById("report-trouble");
  if (form) {
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      trouble.hidden = true;
      const button = form.querySelector("button");
      button.disabled = true;
      try {
        const body = new URLSearchParams(new FormData(form));
        const answer = await fetch(form.action, { method: "POST", body, redirect: "follow" });
        if (answer.redirected) {
          location.assign(answer.url);
          return;
        }
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        const again = page.getElementById("report-form");
        if (!again) {
          document.body.replaceWith(page.body);
          return;
        }
        form.replaceChildren(...again.childNodes);
        const fault = form.querySelector(".fault");
        if (fault) fault.scrollIntoView({ block: "center" });
      } catch {
        trouble.hidden = false;
      } finally {
        button.disabled = false;
      }
    });
  }
})();
