"use strict";
// Draws the strip, and any other figure of the house. The figure names its colours by the site's tokens, so that one figure serves
// light and dark; here they get the values of the theme in use, and again when it changes.
(() => {
  const token = /^var\((--[\w-]+)\)$/;
  const shown = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  function withAlpha(hex, alpha) {
    const wide = hex.length === 4 ? hex.replace(/[0-9a-f]/gi, "$&$&") : hex;
    const part = (at) => parseInt(wide.slice(at, at + 2), 16);
    return `rgba(${part(1)},${part(3)},${part(5)},${alpha})`;
  }

  function coloured(value) {
    if (typeof value === "string") {
      const named = token.exec(value);
      return named ? shown(named[1]) : value;
    }
    if (Array.isArray(value)) return value.map(coloured);
    if (value === null || typeof value !== "object") return value;
    const copy = Object.fromEntries(Object.entries(value).map(([key, part]) => [key, coloured(part)]));
    if (copy.fillcolor && copy.meta && copy.meta.alpha) {
      copy.fillcolor = withAlpha(copy.fillcolor, copy.meta.alpha);
    }
    return copy;
  }

  // Pixels on paper, where a window's width says nothing: 7 in.
  const PRINTED = { width: 672, height: 260 };

  let printed = false;

  function draw(place, figure) {
    const { data, layout } = coloured(figure);
    const narrow = !printed && place.clientWidth < 520;
    // A figure that says how high it is keeps its measures.
    const own = layout.height !== undefined;
    if (!own) layout.height = narrow ? 400 : 460;
    if (printed && !own) {
      Object.assign(layout, PRINTED);
      for (const note of layout.annotations) note.font.size = 11;
    }
    layout.font = { family: shown("--face"), color: shown("--ink") };
    layout.hoverlabel = { bgcolor: shown("--sheet"), bordercolor: shown("--rule-colour"), font: layout.font };
    if (narrow && !own) {
      layout.margin = { ...layout.margin, l: 38, r: 98 };
      layout.xaxis.dtick *= 1.5;
    }
    return window.Plotly.react(place, data, layout, {
      displayModeBar: false,
      responsive: true,
      scrollZoom: false,
      doubleClick: false,
    });
  }

  // Beside the place on the page, or asked for by itself.
  async function figureOf(place) {
    if (place.dataset.figureIn) return JSON.parse(document.getElementById(place.dataset.figureIn).textContent);
    const answer = await fetch(place.dataset.figure, { headers: { Accept: "application/json" } });
    if (!answer.ok) throw new Error(String(answer.status));
    return answer.json();
  }

  // What is drawn: an answer of the page's own takes places away and brings others.
  const drawn = new Map();
  function redraw() {
    for (const [place, figure] of drawn) {
      if (place.isConnected) draw(place, figure);
      else drawn.delete(place);
    }
  }
  new MutationObserver(redraw).observe(document.documentElement, { attributeFilter: ["data-theme"] });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
  for (const when of ["beforeprint", "afterprint"]) {
    addEventListener(when, () => {
      printed = when === "beforeprint";
      // Drawn as new: a plot that was given its width keeps it.
      for (const place of drawn.keys()) window.Plotly.purge(place);
      redraw();
    });
  }

  async function start(place) {
    try {
      const figure = await figureOf(place);
      await draw(place, figure);
      drawn.set(place, figure);
      place.dataset.ready = "yes";
    } catch {
      place.hidden = true;
      place.parentElement.querySelector(".strip-trouble").hidden = false;
    }
  }

  const begin = (part) => part.querySelectorAll("[data-figure], [data-figure-in]").forEach(start);
  begin(document);
  document.addEventListener("htmx:afterSwap", (event) => begin(event.target));
})();
