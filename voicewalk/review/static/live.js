// Tells the page when its walk has grown, and the reader when the line is broken.
"use strict";
(() => {
  const line = document.getElementById("link");
  const source = new EventSource(line.dataset.growth);
  const tell = (text) => {
    line.textContent = text;
    line.hidden = !text;
  };
  source.addEventListener("grown", () => document.body.dispatchEvent(new Event("grown")));
  source.addEventListener("open", () => {
    tell("");
    document.body.dispatchEvent(new Event("grown"));
  });
  source.addEventListener("error", () => tell("The line is broken: this page may be old."));
})();
