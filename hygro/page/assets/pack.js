"use strict";
/* Numbers of the page: base64, deflated, high bytes then low bytes of differences along time. */
async function unpack(packed) {
  const bytes = Uint8Array.from(atob(packed.data), (c) => c.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  const raw = new Uint8Array(await new Response(stream).arrayBuffer());
  const count = packed.rows * packed.columns;
  const columns = [];
  for (let c = 0; c < packed.columns; c++) {
    const values = new Float64Array(packed.rows);
    let sum = 0;
    for (let r = 0; r < packed.rows; r++) {
      const k = c * packed.rows + r;
      sum = (sum + (raw[k] << 8) + raw[count + k]) & 0xffff;
      const whole = sum > 32767 ? sum - 65536 : sum;
      values[r] = whole === -32768 ? NaN : whole * packed.step;
    }
    columns.push(values);
  }
  return columns;
}

/* Colours by the names of the style sheet, so that light and dark are told in one place. */
function ink(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function written(value, digits) {
  return Number.isFinite(value) ? value.toFixed(digits).replace("-", "−") : "–";
}

const DAY = 86400;
function dated(seconds, withHour) {
  const text = new Date(seconds * 1000).toISOString();
  return withHour ? `${text.slice(0, 10)} ${text.slice(11, 13)} h` : text.slice(0, 10);
}
function instant(text) {
  return Date.parse(text.length > 10 ? `${text}Z` : `${text}T00:00Z`) / 1000;
}
