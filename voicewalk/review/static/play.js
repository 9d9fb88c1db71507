// Moves a line along the curve of the sound that is being played.
"use strict";
(() => {
  const sound = document.querySelector("audio");
  const wave = document.querySelector("svg.wave");
  if (!sound || !wave) return;
  const width = wave.viewBox.baseVal.width;
  const head = wave.querySelector(".head");
  const move = () => {
    const x = sound.duration ? (width * sound.currentTime) / sound.duration : 0;
    head.setAttribute("d", `M${x} 0V100`);
    if (!sound.paused) requestAnimationFrame(move);
  };
  for (const name of ["play", "seeked", "ended"]) sound.addEventListener(name, move);
})();
