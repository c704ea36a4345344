"use strict";
// One way among several: only the fields of the chosen one are shown. What is typed in the others
// stays, and without this script all of them are shown.
for (const group of document.querySelectorAll("[data-ways]")) {
  const parts = group.querySelectorAll("[data-way]");
  const show = () => {
    const chosen = group.querySelector(`input[name="${group.dataset.ways}"]:checked`);
    for (const part of parts) part.hidden = !chosen || part.dataset.way !== chosen.value;
  };
  group.addEventListener("change", show);
  show();
}
