"use strict";
// A lower and a higher key beside each list that is stepped through; without this the list does it.
for (const part of document.querySelectorAll("[data-step]")) {
  const list = part.querySelector("select");
  const said = part.querySelector("label").textContent;
  const row = document.createElement("div");
  row.className = "sides-stepper";
  list.replaceWith(row);
  const key = (sign, words, by) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = sign;
    button.setAttribute("aria-label", said + ": " + words);
    button.addEventListener("click", () => {
      list.selectedIndex = Math.min(Math.max(list.selectedIndex + by, 0), list.length - 1);
      list.dispatchEvent(new Event("change", { bubbles: true }));
    });
    return button;
  };
  const [lower, higher] = [key("−", "one less", -1), key("+", "one more", 1)];
  const ends = () => {
    lower.disabled = list.selectedIndex === 0;
    higher.disabled = list.selectedIndex === list.length - 1;
  };
  list.addEventListener("change", ends);
  row.append(lower, list, higher);
  ends();
}
