// Photographs: made smaller on the device before they are kept. Drawn anew, a picture has nothing beside it any more:
// neither the place of taking nor the camera.

const LONGEST_PX = 1600;
const MOST_BYTES = 400_000;
const THUMB_PX = 160;
const QUALITIES = [0.85, 0.75, 0.65, 0.55, 0.45];

function drawnAnew(bitmap, longest) {
  const scale = Math.min(1, longest / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [bitmap.width, bitmap.height].map((px) => Math.max(1, Math.round(px * scale)));
  const on = canvas.getContext("2d");
  on.fillStyle = "#fff";
  on.fillRect(0, 0, canvas.width, canvas.height);
  on.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  return canvas;
}

const asJpeg = (canvas, quality) => new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));

/** A photograph as it is kept: a JPEG of at most so many bytes, and a small one to show while it waits. */
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
  const form = target.closest?.("form.camera");
  if (!form || target.type !== "file" || !target.files.length) return;
  const wrong = form.querySelector(".wrong");
  for (const file of target.files) {
    try {
      const { bytes, thumb } = await smaller(file);
      const row = { key: newKey(), kind: "batch", thing: here().thing, at: new Date().toISOString(), who: here().who, what: form.dataset.enter };
      await putWithPicture({ row, label: form.dataset.label, moment: true, pictured: true, thumb }, bytes);
      write(wrong, "");
    } catch (error) {
      write(wrong, error.message);
    }
  }
  target.value = "";
  await show();
  pause = FIRST_PAUSE;
  sendAll();
});
