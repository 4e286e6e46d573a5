"use strict";
/* Starts the figures when they come into sight; draws them anew when the room or the light changes. */
(async () => {
  const told = JSON.parse(document.getElementById("data").textContent);
  const kinds = { series: drawSeries, map: drawMap };
  const drawn = new Map();
  async function start(figure) {
    if (drawn.has(figure)) return;
    drawn.set(figure, null);
    const [kind, key] = [figure.dataset.kind, figure.dataset.key];
    const made = await kinds[kind](figure, told[kind][key]);
    drawn.set(figure, made);
    await made.build();
    figure.dataset.ready = "yes";
  }
  const seen = new IntersectionObserver((entries) => {
    entries.filter((e) => e.isIntersecting).forEach((e) => {
      seen.unobserve(e.target);
      start(e.target);
    });
  }, { rootMargin: "600px" });
  document.querySelectorAll("figure[data-kind]").forEach((figure) => seen.observe(figure));
  let waiting = 0;
  function again() {
    clearTimeout(waiting);
    waiting = setTimeout(() => drawn.forEach((made) => made && made.build()), 120);
  }
  addEventListener("resize", again);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
})();
