"use strict";
// A tap on the plate puts a point into the first empty pair of boxes, to the sixteenth of an inch.
// The picture itself is drawn by the server from the boxes.
const RADIUS_IN = 27 / (2 * Math.PI);

function overUp(plate, event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(
    plate.getScreenCTM().inverse(),
  );
  const x = plate.hasAttribute("data-mirrored") ? -at.x : at.x;
  const reach = Math.hypot(x, at.y);
  if (reach > 96) return null;
  const away = reach / Number(plate.dataset.scale);
  const share = reach ? Math.sin(away) / reach : 0;
  const over = Math.atan2(x * share, Math.cos(away));
  const up = Math.asin(Math.max(-1, Math.min(1, -at.y * share)));
  return [over, up].map((angle) => Math.round(angle * RADIUS_IN * 16) / 16);
}

document.addEventListener("click", (event) => {
  const plate = event.target.closest?.("[data-plate]");
  const form = plate?.closest("[data-points]");
  const inches = form && overUp(plate, event);
  if (!inches) return;
  const empty = [...form.querySelectorAll(".point")].find((point) =>
    [...point.querySelectorAll("input")].every((box) => !box.value.trim()),
  );
  if (!empty) return;
  const boxes = empty.querySelectorAll("input");
  boxes.forEach((box, place) => (box.value = inches[place]));
  boxes[0].dispatchEvent(new Event("input", { bubbles: true }));
});
