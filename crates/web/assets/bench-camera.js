// Photographs: made smaller on the device before they are kept. Drawn anew, a picture has nothing beside it any more:
// neither the place of taking nor the camera.

import { about, wordsOf, find } from "./dom.js";
import { write } from "./bench-over.js";
import { sendSoon } from "./bench-send.js";
import { show } from "./bench-show.js";
import { here, newKey, putWithPicture } from "./bench-store.js";

const LONGEST_PX = 1600;
const MOST_BYTES = 400_000;
const THUMB_PX = 160;
const QUALITIES = [0.85, 0.75, 0.65, 0.55, 0.45];

/**
 * A picture drawn anew, at most so large.
 * @param {ImageBitmap} bitmap
 * @param {number} longest
 */
function drawnAnew(bitmap, longest) {
  const scale = Math.min(1, longest / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [bitmap.width, bitmap.height].map((px) => Math.max(1, Math.round(px * scale)));
  const on = canvas.getContext("2d");
  if (!on) throw new Error("This browser can’t draw pictures.");
  on.fillStyle = "#fff";
  on.fillRect(0, 0, canvas.width, canvas.height);
  on.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  return canvas;
}

/** @type {(canvas: HTMLCanvasElement, quality: number) => Promise<Blob | null>} */
const asJpeg = (canvas, quality) => new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));

/**
 * A photograph as it is kept: a JPEG of at most so many bytes, and a small one to show while it waits.
 * @param {File} file
 */
async function smaller(file) {
  const bitmap = await createImageBitmap(file).catch(() => { throw new Error("This isn’t a picture that the browser can read. Take it again, or choose another file."); });
  const thumb = drawnAnew(bitmap, THUMB_PX).toDataURL("image/jpeg", 0.6);
  for (let longest = LONGEST_PX; longest > THUMB_PX; longest *= 0.75) {
    const canvas = drawnAnew(bitmap, longest);
    for (const quality of QUALITIES) {
      const jpeg = await asJpeg(canvas, quality);
      if (jpeg && jpeg.size <= MOST_BYTES) return { bytes: await jpeg.arrayBuffer(), thumb };
    }
  }
  throw new Error("This picture can’t be made small enough. Take another one.");
}

document.addEventListener("change", async ({ target }) => {
  const form = about(target, HTMLFormElement, "form.camera");
  if (!form || !(target instanceof HTMLInputElement) || target.type !== "file" || !target.files?.length) return;
  const wrong = find(Element, ".wrong", form);
  for (const file of target.files) {
    try {
      const { bytes, thumb } = await smaller(file);
      /** @type {import("./bench-store.js").Row} */
      const row = { key: newKey(), kind: "batch", thing: here().thing, at: new Date().toISOString(), who: here().who, what: form.dataset.enter };
      await putWithPicture({ row, label: form.dataset.label, moment: true, pictured: true, thumb }, bytes);
      write(wrong, "");
    } catch (error) {
      write(wrong, wordsOf(error));
    }
  }
  target.value = "";
  await show();
  sendSoon();
});
