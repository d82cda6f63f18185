/* SPDX-License-Identifier: GPL-3.0-or-later */
"use strict";
(function () {
  const data = JSON.parse(document.getElementById("data").textContent);
  document.querySelectorAll(".plot").forEach(root => {
    const i = Number(root.dataset.strip), image = document.getElementById("picture-" + i);
    if (!data[i] || data[i].at.length < 2) return;
    if (image) image.hidden = true;
    strandlineProfilePlot.create(root, data[i], { name: String(i), words: root.dataset.words, image: image });
  });
  window.addEventListener("beforeprint", () => document.querySelectorAll("main details").forEach(d => { d.open = true; }));
})();
