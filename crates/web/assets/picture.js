// What the pictures of a bake are drawn with: the units and colours of the page, and moments between two frames.

import { must, need } from "./dom.js";

/** @typedef {[number, number, number]} Colour Red, green and blue, 0 to 255. */
/** @typedef {readonly [number, number]} Moment Between which frames a time lies, and how far: the later frame, and the share. */

/** The part of the page that a bake stands in. */
export const root = () => document.getElementById("bake");
export const dark = matchMedia("(prefers-color-scheme: dark)");

/** How the page tells a quantity: factor, offset, more decimals, unit. */
const unitOf = (/** @type {"temperature" | "length"} */ kind) => {
  const [factor, offset, more, unit] = must(root()?.dataset[kind], `unit of ${kind}`).split(" ");
  return { factor: Number(factor), offset: Number(offset), more: Number(more), unit: unit ?? "" };
};

/** The unit of the page for a temperature. */
export const degrees = () => unitOf("temperature").unit;

/**
 * A length typed in the unit of the page, in mm.
 * @param {string} text
 */
export function typedMm(text) {
  const { factor, offset } = unitOf("length");
  return (Number(text.replace(",", ".").replace("\u2212", "-")) - offset) / factor;
}

/**
 * A colour of the page by the name of its variable.
 * @param {string} name
 */
export const token = (name) => {
  // A custom colour may be a light-dark() pair; a probe tells what it comes to.
  const probe = document.createElement("span");
  probe.style.color = `var(${name})`;
  must(root(), "bake").append(probe);
  const colour = getComputedStyle(probe).color;
  probe.remove();
  return colour;
};

/**
 * A value of the field in the units of the page.
 * @param {number} value
 * @param {"temperature" | "length"} kind
 */
export const shown = (value, kind) => {
  const { factor, offset } = unitOf(kind);
  return factor * value + offset;
};
/**
 * A length in mm, in the unit of the page: the figure, and the unit.
 * @param {number} mm
 * @param {number} places
 */
export const length = (mm, places) => {
  const { more, unit } = unitOf("length");
  return [told(shown(mm, "length"), places + more), unit];
};

/**
 * Numbers as the pages write them.
 * @param {number} value
 * @param {number} places
 */
export const told = (value, places) =>
  Number.isFinite(value) ? value.toFixed(places).replace(/^-(?=0\.?0*$)/, "").replace("-", "\u2212") : "–";

/**
 * The colours of a quantity, from the least to the most.
 * @param {string | undefined} name
 * @returns {Colour[]}
 */
export function ramp(name) {
  const key = name === "temperature" ? "rampTemperature" : "rampMoisture";
  const text = must(need(HTMLElement, "#section").dataset[key], key);
  return Array.from({ length: text.length / 6 }, (_, i) => {
    const n = parseInt(text.slice(6 * i, 6 * i + 6), 16);
    return [n >> 16, (n >> 8) & 255, n & 255];
  });
}

/**
 * What draws on a canvas.
 * @param {HTMLCanvasElement} canvas
 */
const brushOf = (canvas) => must(canvas.getContext("2d"), "canvas to draw on");

/**
 * A canvas sized to the screen's own pixels, and its pencil in CSS pixels.
 * @param {HTMLCanvasElement} canvas
 * @param {number} width
 * @param {number} height
 */
export function pencil(canvas, width, height) {
  const ratio = devicePixelRatio || 1;
  canvas.width = Math.round(width * ratio);
  canvas.height = Math.round(height * ratio);
  canvas.style.width = `${width}px`;
  canvas.style.height = `${height}px`;
  const context = brushOf(canvas);
  context.scale(ratio, ratio);
  const body = getComputedStyle(document.body).getPropertyValue("--data");
  context.font = `13px ${body || "sans-serif"}`;
  return context;
}

/**
 * Between which frames a time lies, and how far.
 * @param {number[]} times
 * @param {number} minutes
 * @returns {Moment}
 */
export function place(times, minutes) {
  let i = 1;
  while (i < times.length - 1 && times[i] < minutes) i += 1;
  const span = times[i] - times[i - 1];
  return [i, span > 0 ? Math.min(1, Math.max(0, (minutes - times[i - 1]) / span)) : 1];
}
/** @type {(row: number[], at: Moment) => number} */
export const between = (row, [i, t]) => row[i - 1] + t * (row[i] - row[i - 1]);
/** @type {(rows: number[][], at: Moment) => number[]} */
export const column = (rows, [i, t]) => rows[i].map((v, k) => rows[i - 1][k] + t * (v - rows[i - 1][k]));

/**
 * Cells of one colour each, laid into a small picture and drawn large.
 * @param {number} wide
 * @param {number} tall
 * @param {(x: number, y: number) => Colour | null} at
 */
export function cells(wide, tall, at) {
  const small = document.createElement("canvas");
  small.width = wide;
  small.height = tall;
  const context = brushOf(small);
  const image = context.createImageData(wide, tall);
  for (let y = 0; y < tall; y += 1) {
    for (let x = 0; x < wide; x += 1) {
      const colour = at(x, y);
      if (colour) image.data.set([...colour, 255], 4 * (y * wide + x));
    }
  }
  context.putImageData(image, 0, 0);
  return small;
}
