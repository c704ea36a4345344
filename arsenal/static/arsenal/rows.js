"use strict";
// Rows of a form: add one from the page's template, fade one that is marked to be removed, and
// say a pitch in words while it is typed. Without this script the rows shown can still be filled.
function fade(row) {
  const box = row.querySelector('input[name$="-DELETE"]');
  if (box) row.classList.toggle("row-removed", box.checked);
}

function number(text) {
  const plain = text.trim().replace(",", ".").replace(/[−–]/g, "-");
  const fraction = plain.match(/^([+-]?)(?:(\d+)[\s-]+)?(\d+)\/(\d+)$/);
  if (fraction) {
    const size = Number(fraction[2] || 0) + Number(fraction[3]) / Number(fraction[4]);
    return fraction[1] === "-" ? -size : size;
  }
  return plain === "" ? NaN : Number(plain);
}

const PITCH_WORDS = {
  forward: ["forward: bottom of the hole toward the palm", "reverse: bottom away from the palm"],
  lateral: ["bottom of the hole toward the PAP side", "bottom away from the PAP side"],
};

function sayPitch(input) {
  let words = input.parentElement.querySelector(".pitch-words");
  if (!words) {
    words = document.createElement("output");
    words.className = "pitch-words";
    words.htmlFor = input.id;
    input.after(words);
  }
  const value = number(input.value);
  const [plus, minus] = PITCH_WORDS[input.dataset.pitch];
  words.textContent = value > 0 ? plus : value < 0 ? minus : value === 0 ? "none: aims at the centre" : "";
}

function wake(row) {
  fade(row);
  row.addEventListener("change", () => fade(row));
  for (const input of row.querySelectorAll("[data-pitch]")) {
    sayPitch(input);
    input.addEventListener("input", () => sayPitch(input));
  }
}

for (const rows of document.querySelectorAll("[data-rows]")) {
  for (const row of rows.querySelectorAll(".row-card")) wake(row);
  const total = rows.querySelector(`[name="${rows.dataset.rows}-TOTAL_FORMS"]`);
  const most = Number(rows.querySelector(`[name="${rows.dataset.rows}-MAX_NUM_FORMS"]`).value);
  const button = rows.querySelector("[data-add-row]");
  button.hidden = Number(total.value) >= most;
  button.addEventListener("click", () => {
    const row = rows.querySelector("template").content.firstElementChild.cloneNode(true);
    row.innerHTML = row.innerHTML.replaceAll("__prefix__", total.value);
    total.value = Number(total.value) + 1;
    button.parentElement.before(row);
    wake(row);
    row.querySelector("input:not([type=hidden]), select").focus();
    button.hidden = Number(total.value) >= most;
  });
}
