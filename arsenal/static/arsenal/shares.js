"use strict";
// Sliders that always add up: moving one divides what is left among the others as they stood when
// it was taken hold of. Without this script the times are typed, and add up to what they add up to.
const LEAST = 1;
const MOST = 200;

// As arsenal/lanes/shares.py divides.
function divided(total, weights) {
  const count = weights.length;
  const sum = (list) => list.reduce((a, b) => a + b, 0);
  total = Math.max(LEAST * count, Math.min(total, MOST * count));
  const every = sum(weights);
  const exact = weights.map((weight) => total * (every > 0 ? weight / every : 1 / count));
  const whole = exact.map((share) => Math.max(LEAST, Math.min(Math.floor(share), MOST)));
  for (let left = total - sum(whole); left !== 0; left = total - sum(whole)) {
    const step = left > 0 ? 1 : -1;
    let best = -1;
    for (let i = 0; i < count; i += 1) {
      const free = step > 0 ? whole[i] < MOST : whole[i] > LEAST;
      if (free && (best < 0 || step * (exact[i] - whole[i]) > step * (exact[best] - whole[best]))) best = i;
    }
    whole[best] += step;
  }
  return whole;
}

function wakeShares(group) {
  const rows = [...group.querySelectorAll("[data-share]")].map((row) => ({
    slider: row.querySelector("input[type=range]"),
    box: row.querySelector("input[inputmode]"),
    percent: row.querySelector("[data-percent]"),
    bar: row.querySelector("rect.share"),
  }));
  const totalBox = group.querySelector("[data-total]");
  const whole = (text) => (/^\d+$/.test(text.trim()) ? Number(text) : NaN);
  let times = rows.map((row) => whole(row.box.value));
  // A box that can't be read is the server's to name; until then nothing moves.
  if (times.some((n) => !(n >= LEAST && n <= MOST))) return;
  let total = times.reduce((a, b) => a + b, 0);
  let held = times;

  function show(keep) {
    const most = Math.min(MOST, total - LEAST * (rows.length - 1));
    rows.forEach((row, i) => {
      const percent = Math.round((100 * times[i]) / total);
      if (row.box !== keep) row.box.value = times[i];
      row.percent.textContent = percent;
      row.bar.setAttribute("width", (100 * times[i]) / total);
      if (!row.slider) return;
      row.slider.max = most;
      row.slider.value = times[i];
      row.slider.setAttribute("aria-valuetext", `${times[i]} of ${total} times a season, ${percent} %`);
    });
    if (totalBox && totalBox !== keep) totalBox.value = total;
  }

  function take(i, value) {
    if (rows.length === 1) {
      total = Math.max(LEAST, Math.min(value, MOST));
      times = [total];
      return show();
    }
    const others = held.filter((_, k) => k !== i);
    const least = Math.max(LEAST, total - MOST * others.length);
    const mine = Math.max(least, Math.min(value, MOST, total - LEAST * others.length));
    const rest = divided(total - mine, others);
    times = held.map((_, k) => (k === i ? mine : rest[k < i ? k : k - 1]));
    show();
  }

  rows.forEach((row, i) => {
    row.box.addEventListener("change", () => {
      const typed = whole(row.box.value);
      if (!(typed >= LEAST && typed <= MOST)) return;
      take(i, typed);
      held = times;
    });
    if (!row.slider) return;
    row.slider.hidden = false;
    row.slider.addEventListener("input", () => take(i, Number(row.slider.value)));
    row.slider.addEventListener("change", () => { held = times; });
  });
  if (totalBox) {
    totalBox.addEventListener("change", () => {
      const typed = whole(totalBox.value);
      if (!(typed >= LEAST)) return;
      times = divided(typed, held);
      total = times.reduce((a, b) => a + b, 0);
      held = times;
      show();
    });
  }
  show();
}

for (const group of document.querySelectorAll("[data-shares]")) wakeShares(group);
