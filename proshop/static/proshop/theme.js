"use strict";
// Light or dark as the machine says, until somebody presses the button. Runs in the head, before
// anything is drawn, so that the page never flashes in the other colours.
(() => {
  const root = document.documentElement;
  const key = "theme";
  const stored = () => {
    try {
      return localStorage.getItem(key);
    } catch {
      return null;
    }
  };
  const chosen = stored();
  if (chosen === "light" || chosen === "dark") root.dataset.theme = chosen;

  const dark = () =>
    root.dataset.theme
      ? root.dataset.theme === "dark"
      : matchMedia("(prefers-color-scheme: dark)").matches;

  document.addEventListener("click", (event) => {
    if (!event.target.closest("[data-theme-switch]")) return;
    root.dataset.theme = dark() ? "light" : "dark";
    try {
      localStorage.setItem(key, root.dataset.theme);
    } catch {
      // A browser that keeps nothing still switches this page.
    }
  });

  // Paper is light. Styles know that by themselves; a picture drawn by a script asks for colours
  // while the page is still on the screen, so that the whole page is light until it is printed.
  let before;
  addEventListener("beforeprint", () => {
    before = root.dataset.theme;
    root.dataset.theme = "light";
  });
  addEventListener("afterprint", () => {
    if (before) root.dataset.theme = before;
    else delete root.dataset.theme;
  });
})();
