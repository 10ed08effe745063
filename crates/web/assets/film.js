// A film of a bake: the slider of a time moves by itself, and what stands at that time is drawn.

import { find } from "./dom.js";

/** Seconds that a whole bake takes to play. */
const PLAY_S = 14;
/** The last step of a slider. */
const END = 1000;
const still = matchMedia("(prefers-reduced-motion: reduce)");

/**
 * What plays, and what stops it. The page may be drawn anew between two calls.
 * @param {string} buttonCss
 * @param {string} sliderCss
 * @param {() => void} draw
 */
export function film(buttonCss, sliderCss, draw) {
  let playing = 0;

  /** @param {string} word */
  const tell = (word) => {
    const button = find(HTMLButtonElement, buttonCss);
    if (!button) return;
    button.textContent = word;
    button.setAttribute("aria-pressed", String(playing !== 0));
  };

  const stop = () => {
    cancelAnimationFrame(playing);
    playing = 0;
    tell("Play");
  };

  const play = () => {
    const slider = find(HTMLInputElement, sliderCss);
    if (!slider) return;
    if (Number(slider.value) >= END - 1) slider.value = "0";
    let [share, before] = [Number(slider.value), performance.now()];
    /** @param {number} now */
    const step = (now) => {
      // Those who want less motion get a picture every second instead of a film.
      if (!still.matches || now - before > 1000) {
        share = Math.min(END, share + (now - before) / PLAY_S);
        before = now;
        slider.value = String(share);
        draw();
      }
      if (share >= END) { stop(); return; }
      playing = requestAnimationFrame(step);
    };
    playing = requestAnimationFrame(step);
    tell("Pause");
  };

  return { stop, turn: () => (playing ? stop() : play()) };
}
