"use strict";
/* Series of a wall: a panel each, one cursor for all, moved by mouse or by the slider below. */
const DASHES = [[], [8, 3], [2, 3], [8, 3, 2, 3], [12, 4], [4, 2], [1, 3], [10, 2, 1, 2]];

function panelOptions(panel, width, sync, moved) {
  const axis = { stroke: ink("--ink"), grid: { stroke: ink("--grid"), width: 1 },
    ticks: { stroke: ink("--muted") }, font: "12px sans-serif" };
  const limit = (u) => {
    const y = u.valToPos(panel.limit, "y", true);
    const { ctx, bbox } = u;
    ctx.save();
    ctx.strokeStyle = ink("--limit");
    ctx.lineWidth = 1.5 * devicePixelRatio;
    ctx.setLineDash([2 * devicePixelRatio, 3 * devicePixelRatio]);
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.restore();
  };
  return {
    width, height: 190, tzDate: (t) => uPlot.tzDate(new Date(t * 1000), "Etc/UTC"),
    cursor: { sync: { key: sync, setSeries: false }, y: false },
    legend: { show: true, live: true },
    scales: { y: { range: (u, low, high) => [panel.floor, Math.max(panel.top, high)] } },
    axes: [axis, { ...axis, size: 46 }],
    series: [{ label: "day", value: (u, t) => (t == null ? "–" : dated(t)) }].concat(
      panel.labels.map((label, k) => ({
        label, stroke: ink(`--pen${k % 10}`), width: 1.8, dash: DASHES[k % DASHES.length],
        points: { show: false }, value: (u, v) => (v == null ? "–" : written(v, 2)),
      })),
    ),
    hooks: { draw: [limit], setCursor: [(u) => moved(u)] },
  };
}

async function drawSeries(figure, told) {
  const host = figure.querySelector(".live");
  const slider = figure.querySelector("input[type=range]");
  const said = figure.querySelector("output");
  const start = instant(told.start);
  const tables = await Promise.all(told.panels.map((panel) => unpack(panel.values)));
  const count = told.panels[0].values.rows;
  const stamps = Array.from({ length: count }, (_, k) => start + k * told.days * DAY);
  slider.max = count - 1;
  let plots = [];

  function tell(index) {
    const values = told.panels.map((panel, p) => {
      const each = panel.labels.map((label, k) => {
        const value = tables[p][k][index];
        return `${label} ${isNaN(value) ? "–" : written(value, 1)}`;
      });
      return `${panel.quantity}: ${each.join(", ")}`;
    });
    said.textContent = `${dated(stamps[index])}. ${values.join("; ")}`;
    slider.setAttribute("aria-valuetext", dated(stamps[index]));
  }
  let own = false;
  function moved(u) {
    const index = u.cursor.idx;
    if (own || index == null || !u.cursor.event) return;
    slider.value = index;
    tell(index);
  }
  function show() {
    const index = Number(slider.value);
    own = true;
    plots.forEach((u) => u.setCursor({ left: u.valToPos(stamps[index], "x"), top: 10 }, false));
    own = false;
    tell(index);
  }
  async function build() {
    plots.forEach((u) => u.destroy());
    const plotsHost = host.querySelector(".plots");
    plotsHost.textContent = "";
    const width = plotsHost.clientWidth;
    own = true;
    plots = told.panels.map((panel, p) => {
      const box = document.createElement("div");
      const title = document.createElement("p");
      title.className = "panel-title";
      title.textContent = `${panel.title} (dotted: ${panel.limitWords})`;
      box.append(title);
      plotsHost.append(box);
      const data = [stamps, ...tables[p].map((c) => Array.from(c, (v) => (isNaN(v) ? null : v)))];
      return new uPlot(panelOptions(panel, width, figure.id, moved), data, box);
    });
    own = false;
    await new Promise(requestAnimationFrame); // the plots set their own cursor first
    show();
  }
  slider.addEventListener("input", show);
  figure.classList.add("is-live");
  return { build };
}
