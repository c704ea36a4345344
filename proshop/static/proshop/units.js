"use strict";
// The switch of units loads the page anew: what was typed into it and not sent yet is put back.
// Forms that hold what is typed by themselves (hold.js) need none of this.
(() => {
  const KEY = "typed-before-units";
  const forms = () => [...document.querySelectorAll("main form:not([data-row], [data-hold])")];
  const boxes = (form) =>
    [...form.elements].filter((box) => box.name && !box.matches("button, [type=hidden], [type=password], [type=file]"));
  const ticked = (box) => ["checkbox", "radio"].includes(box.type);
  const listed = (box) => box.tagName === "SELECT";

  // What a box was made to say: its name, and its state; null where nobody touched it.
  function typed(box) {
    if (ticked(box)) return box.checked === box.defaultChecked ? null : { name: box.name, value: box.value, checked: box.checked };
    if (listed(box)) return { name: box.name, picked: [...box.selectedOptions].map((option) => option.value) };
    return box.value === box.defaultValue ? null : { name: box.name, value: box.value };
  }

  // Rows that were added to a form (rows.js) are added again before they are filled.
  function addRowsFor(form, name) {
    for (const rows of form.querySelectorAll("[data-rows]")) {
      const [, place] = name.match(new RegExp(`^${rows.dataset.rows}-(\\d+)-`)) ?? [];
      const total = form.elements[`${rows.dataset.rows}-TOTAL_FORMS`];
      const add = rows.querySelector("[data-add-row]");
      while (place && Number(total.value) <= Number(place) && !add.hidden) add.click();
    }
  }

  function putBack(form, was) {
    addRowsFor(form, was.name);
    const box = boxes(form).find((one) => one.name === was.name && (!ticked(one) || one.value === was.value));
    if (!box || JSON.stringify(typed(box)) === JSON.stringify(was)) return;
    if ("checked" in was) box.checked = was.checked;
    else if ("picked" in was) for (const option of box.options) option.selected = was.picked.includes(option.value);
    else box.value = was.value;
    box.dispatchEvent(new Event("input", { bubbles: true }));
    box.dispatchEvent(new Event("change", { bubbles: true }));
  }

  document.querySelector(".foot-units")?.addEventListener("submit", () => {
    const kept = forms().map((form) => boxes(form).map(typed).filter(Boolean));
    try {
      sessionStorage.setItem(KEY, JSON.stringify({ page: location.pathname, kept }));
    } catch {
      // A browser that keeps nothing shows the page as the shop's computer has it.
    }
  });

  addEventListener("load", () => {
    let was = null;
    try {
      was = JSON.parse(sessionStorage.getItem(KEY));
      sessionStorage.removeItem(KEY);
    } catch {
      return;
    }
    if (was?.page !== location.pathname) return;
    forms().forEach((form, at) => was.kept[at]?.forEach((one) => putBack(form, one)));
  });
})();
