"use strict";
/* Depth–time map: time across, depth down; the profile of the picked instant beside it. */
const EDGE = { left: 44, right: 8, top: 8, bottom: 30 };

function colourOf(field, value) {
  if (!Number.isFinite(value)) return null;
  let step = 0;
  while (step < field.breaks.length && value >= field.breaks[step]) step++;
  return field.colours[step];
}

function rgb(hex) {
  return [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16));
}

function canvasOf(canvas, width, height) {
  const ratio = devicePixelRatio || 1;
  canvas.width = Math.round(width * ratio);
  canvas.height = Math.round(height * ratio);
  canvas.style.width = `${width}px`;
  canvas.style.height = `${height}px`;
  const pen = canvas.getContext("2d");
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.clearRect(0, 0, width, height);
  pen.font = "12px sans-serif";
  pen.lineWidth = 1;
  return pen;
}

function painted(told, field, table, rows) {
  const picture = document.createElement("canvas");
  picture.width = field.values.rows;
  picture.height = rows;
  const pen = picture.getContext("2d");
  const image = pen.createImageData(picture.width, rows);
  const deep = told.edges[told.edges.length - 1];
  let band = 0;
  for (let y = 0; y < rows; y++) {
    const depth = ((y + 0.5) / rows) * deep;
    while (band < told.names.length - 1 && depth > told.edges[band + 1]) band++;
    for (let x = 0; x < picture.width; x++) {
      const colour = colourOf(field, table[band][x]);
      if (colour === null) continue;
      const [r, g, b] = rgb(colour);
      image.data.set([r, g, b, 255], 4 * (y * picture.width + x));
    }
  }
  pen.putImageData(image, 0, 0);
  return picture;
}

function layersOf(told) {
  const found = [];
  told.names.forEach((name, k) => {
    const last = found[found.length - 1];
    if (last && last.name === name) last.to = k;
    else found.push({ name, from: k, to: k });
  });
  return found;
}

function monthTicks(start, end, width) {
  const months = Math.max(1, Math.round((end - start) / (30.4 * DAY)));
  const room = Math.max(1, Math.floor(width / 64));
  const every = [1, 2, 3, 6, 12, 24, 60].find((m) => months / m <= room) || 120;
  const ticks = [];
  const from = new Date(start * 1000);
  for (let m = from.getUTCMonth(), y = from.getUTCFullYear(), k = 0; k <= months + 1; k++, m++) {
    const t = Date.UTC(y, m, 1) / 1000;
    const month = ((m % 12) + 12) % 12;
    if (t >= start && t <= end && month % Math.min(every, 12) === 0) {
      const year = new Date(t * 1000).getUTCFullYear();
      if (every > 12 && year % (every / 12)) continue;
      const name = new Date(t * 1000).toLocaleString("en", { month: "short", timeZone: "UTC" });
      ticks.push([t, every >= 12 ? `${year}` : month === 0 ? `${year}` : name]);
    }
  }
  return ticks;
}

async function drawMap(figure, told) {
  const host = figure.querySelector(".live");
  const [mapCanvas, sideCanvas] = host.querySelectorAll("canvas");
  const slider = figure.querySelector("input[type=range]");
  const said = figure.querySelector("output");
  const body = figure.querySelector(".profile tbody");
  const head = figure.querySelector(".profile .quantity");
  const legend = figure.querySelector(".legend");
  const start = instant(told.start);
  const step = told.hours * 3600;
  const deep = told.edges[told.edges.length - 1];
  const layers = layersOf(told);
  const tables = {};
  let name = "relative_humidity";
  let size = { width: 0, height: 0, side: 0 };
  let picture = null;
  let depthAt = null;

  const field = () => told.fields[name];
  const count = () => field().values.rows;
  const digits = () => (name === "water_content" && told.length === "in" ? 2 : 1);
  const plotWidth = () => size.width - EDGE.left - EDGE.right;
  const plotHeight = () => size.height - EDGE.top - EDGE.bottom;
  const down = (depth) => EDGE.top + (depth / deep) * plotHeight();

  async function load() {
    if (!tables[name]) tables[name] = await unpack(field().values);
    slider.max = count() - 1;
  }

  function depthAxis(pen, left) {
    pen.fillStyle = ink("--ink");
    pen.textAlign = "right";
    pen.textBaseline = "middle";
    const target = deep / 5;
    const base = 10 ** Math.floor(Math.log10(target));
    const every = [1, 2, 5, 10].map((m) => m * base).find((m) => m >= target);
    for (let d = 0; d <= deep; d += every) {
      pen.fillText(String(Math.round(d * 100) / 100), left - 6, down(d));
    }
    pen.textBaseline = "top";
    pen.fillText(told.length, left - 6, size.height - 22);
  }

  function frame(pen, left, width) {
    pen.strokeStyle = ink("--ink");
    layers.forEach((layer) => {
      const y = down(told.edges[layer.to + 1]);
      pen.beginPath();
      pen.moveTo(left, y);
      pen.lineTo(left + width, y);
      pen.stroke();
    });
    pen.strokeRect(left, EDGE.top, width, plotHeight());
  }

  function drawField() {
    const pen = canvasOf(mapCanvas, size.width, size.height);
    const width = plotWidth();
    pen.imageSmoothingEnabled = false;
    pen.drawImage(picture, EDGE.left, EDGE.top, width, plotHeight());
    frame(pen, EDGE.left, width);
    depthAxis(pen, EDGE.left);
    pen.textAlign = "center";
    pen.textBaseline = "top";
    for (const [t, text] of monthTicks(start, start + count() * step, width)) {
      const x = EDGE.left + ((t - start) / (count() * step)) * width;
      pen.fillStyle = ink("--ink");
      pen.fillRect(x, size.height - EDGE.bottom, 1, 4);
      if (x > EDGE.left + 10 && x < size.width - 20) pen.fillText(text, x, size.height - 22);
    }
    const x = EDGE.left + ((Number(slider.value) + 0.5) / count()) * width;
    for (const [colour, thick] of [["--paper", 4], ["--ink", 1.5]]) {
      pen.strokeStyle = ink(colour);
      pen.lineWidth = thick;
      pen.beginPath();
      pen.moveTo(x, EDGE.top);
      pen.lineTo(x, size.height - EDGE.bottom);
      pen.stroke();
    }
  }

  function drawProfile() {
    const pen = canvasOf(sideCanvas, size.side, size.height);
    const k = Number(slider.value);
    const f = field();
    const low = name === "relative_humidity" ? 0 : f.low;
    const high = name === "relative_humidity" ? Math.max(100, 5 * Math.ceil((f.high - 1) / 5)) : f.high;
    const width = size.side - EDGE.left - 16;
    const across = (v) => EDGE.left + ((v - low) / (high - low || 1)) * width;
    frame(pen, EDGE.left, width);
    depthAxis(pen, EDGE.left);
    pen.fillStyle = ink("--ink");
    pen.textBaseline = "top";
    [low, (low + high) / 2, high].forEach((v, n) => {
      pen.textAlign = ["left", "center", "right"][n];
      pen.fillText(written(v, 0), across(v), size.height - 22);
    });
    pen.strokeStyle = ink("--pen1");
    pen.lineWidth = 2;
    pen.beginPath();
    let open = false;
    told.names.forEach((_, band) => {
      const v = tables[name][band][k];
      if (!Number.isFinite(v)) { open = false; return; }
      const x = across(v);
      if (open) pen.lineTo(x, down(told.edges[band]));
      else pen.moveTo(x, down(told.edges[band]));
      pen.lineTo(x, down(told.edges[band + 1]));
      open = true;
    });
    pen.stroke();
    if (depthAt !== null) {
      pen.strokeStyle = ink("--limit");
      pen.setLineDash([2, 3]);
      pen.beginPath();
      pen.moveTo(EDGE.left, down(depthAt));
      pen.lineTo(EDGE.left + width, down(depthAt));
      pen.stroke();
    }
  }

  function when() {
    const t = start + Number(slider.value) * step;
    return told.hours < 24 ? `${dated(t, true)} to ${dated(t + step, true).slice(11)}`
      : `${dated(t)} to ${dated(t + step)}`;
  }

  function tell() {
    const k = Number(slider.value);
    const values = tables[name];
    head.textContent = `${field().title}, ${field().unit}`;
    body.textContent = "";
    for (const layer of layers) {
      const row = document.createElement("tr");
      const cells = [layer.name, written(values[layer.from][k], digits()),
        written(values[layer.to][k], digits())];
      cells.forEach((text, n) => {
        const cell = document.createElement(n ? "td" : "th");
        if (!n) cell.scope = "row";
        cell.textContent = text;
        row.append(cell);
      });
      body.append(row);
    }
    let text = when();
    if (depthAt !== null) {
      const band = told.edges.findIndex((edge, n) => n && depthAt <= edge) - 1;
      text += `, depth ${written(depthAt, 0)} ${told.length}, ${told.names[band]}: `
        + `${written(values[band][k], digits())} ${field().unit}`;
    }
    said.textContent = text;
    slider.setAttribute("aria-valuetext", text);
  }

  function drawLegend() {
    legend.textContent = "";
    const f = field();
    f.colours.forEach((colour, n) => {
      const item = document.createElement("li");
      const patch = document.createElement("span");
      patch.style.background = colour;
      const [a, b] = [f.breaks[n - 1], f.breaks[n]];
      const text = n === 0 ? `below ${written(b, 0)}`
        : n === f.breaks.length ? `${written(a, 0)} and above` : `${written(a, 0)} to ${written(b, 0)}`;
      item.append(patch, text);
      legend.append(item);
    });
  }

  function show() {
    drawField();
    drawProfile();
    tell();
  }

  async function build() {
    await load();
    const room = Math.floor(host.querySelector(".canvases").getBoundingClientRect().width);
    const beside = room >= 620;
    size = { width: beside ? room - 210 : room, height: 300, side: beside ? 200 : room };
    slider.style.marginLeft = `${EDGE.left - 8}px`;
    slider.style.width = `${plotWidth() + 16}px`;
    picture = painted(told, field(), tables[name], Math.round(plotHeight()));
    drawLegend();
    show();
  }

  function pick(event) {
    const box = mapCanvas.getBoundingClientRect();
    const share = (event.clientX - box.left - EDGE.left) / plotWidth();
    const depth = ((event.clientY - box.top - EDGE.top) / plotHeight()) * deep;
    if (share < 0 || share >= 1 || depth < 0 || depth > deep) return;
    depthAt = depth;
    slider.value = Math.floor(share * count());
    show();
  }
  let pinned = false;
  mapCanvas.addEventListener("pointermove", (event) => { if (!pinned) pick(event); });
  mapCanvas.addEventListener("click", (event) => {
    pinned = !pinned;
    mapCanvas.classList.toggle("pinned", pinned);
    pick(event);
  });
  slider.addEventListener("input", show);
  figure.querySelectorAll("input[type=radio]").forEach((choice) => {
    choice.addEventListener("change", () => { name = choice.value; build(); });
  });
  figure.classList.add("is-live");
  return { build };
}
