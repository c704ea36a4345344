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

  // The picture ball by ball: it and what draws it are fetched when asked for, and not before.
  const byBall = document.getElementById("by-ball");

  function load(tag, values) {
    return new Promise((resolve, reject) => {
      const part = Object.assign(document.createElement(tag), values, { onload: resolve });
      part.onerror = () => {
        part.remove();
        reject(new Error(values.src || values.href));
      };
      document.head.append(part);
    });
  }

  function made(tag, values, ...parts) {
    const part = Object.assign(document.createElement(tag), values);
    part.append(...parts);
    return part;
  }

  async function showByBall() {
    const button = byBall.querySelector("button");
    const said = byBall.querySelector("[role=status]");
    const { from, styles, plotter, drawer } = byBall.dataset;
    button.disabled = true;
    said.textContent = "Fetching it…";
    said.hidden = false;
    try {
      const answer = await fetch(from, { headers: { Accept: "application/json" } });
      if (answer.status === 404 || answer.status === 410) {
        said.textContent = "This page has changed: load it anew.";
        return;
      }
      if (!answer.ok) throw new Error(String(answer.status));
      const { figure, told } = await answer.json();
      // What draws looks for this sheet by its id before it writes one of its own.
      const sheet = { id: "plotly.js-style-global", className: "no-inline-styles", rel: "stylesheet", href: styles };
      if (!document.getElementById(sheet.id)) await load("link", sheet);
      if (!window.Plotly) await load("script", { src: plotter });
      const held = made("script", { type: "application/json", id: "by-ball-figure" }, JSON.stringify(figure));
      const place = made("div", { className: "strip-plot" });
      place.setAttribute("role", "img");
      place.setAttribute("aria-label", "Ball by ball; the same in words below");
      place.dataset.figureIn = held.id;
      const lines = told.map(({ ball, lines }) =>
        made("li", {}, made("strong", {}, ball), made("ul", {}, ...lines.map((line) => made("li", {}, line)))));
      const words = made("details", {}, made("summary", {}, "The same in words"), made("ul", {}, ...lines));
      const trouble = made("p", { className: "strip-trouble", hidden: true }, "It could not be drawn here; the words below say the same.");
      const heading = made("h3", { tabIndex: -1 }, "Ball by ball");
      const hint = made("p", { className: "quiet" }, "A band is the window, a full mark scores there, an empty one falls short. Touch a mark for its numbers.");
      const shown = made("div", {}, heading, hint, held, place, trouble, words);
      byBall.before(shown);
      try {
        await load("script", { src: drawer });
      } catch (lost) {
        shown.remove();
        throw lost;
      }
      shown.className = "sheet";
      byBall.remove();
      heading.focus();
    } catch {
      said.textContent = "No signal, or too little of it: this picture needs one. Those above are all there; try again when there is one.";
    } finally {
      button.disabled = false;
    }
  }

  if (byBall) {
    byBall.hidden = false;
    byBall.querySelector("button").addEventListener("click", showByBall);
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
