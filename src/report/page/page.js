/* SPDX-License-Identifier: GPL-3.0-or-later */
"use strict";
(function () {
  const data = JSON.parse(document.getElementById("data").textContent);
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const number = (v, digits) => v === null || v === undefined ? "\u2013" : v.toFixed(digits).replace("-", "\u2212");
  const colour = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const RGB = () => dark.matches ? ["#ff8a7a", "#7fd48a", "#8db4ff"] : ["#b3261e", "#1b7a33", "#1f56c4"];
  const LAB = () => dark.matches ? ["#e0e0e0", "#ff9ad5", "#ffd166"] : ["#444444", "#b0247f", "#9a6a00"];

  const kinds = {
    load: {
      title: "dye load (K/S)", labels: ["x", "load"], band: true,
      rows: s => s.at.map((x, i) => [x, s.load[i] === null ? null : [s.low[i], s.load[i], s.high[i]]]),
      colours: () => [colour("--text")], floor: 0,
      say: (s, i) => "load " + number(s.load[i], 3) + " (" + number(s.low[i], 3) + " to " + number(s.high[i], 3) + ")"
    },
    density: {
      title: "optical density D", labels: ["x", "red", "green", "blue"],
      rows: s => s.at.map((x, i) => [x].concat(s.density[i])), colours: RGB,
      say: (s, i) => "density red " + number(s.density[i][0], 3) + ", green " + number(s.density[i][1], 3) +
        ", blue " + number(s.density[i][2], 3)
    },
    lab: {
      title: "L*, a*, b*", labels: ["x", "L*", "a*", "b*"],
      rows: s => s.at.map((x, i) => [x].concat(s.lab[i])), colours: LAB,
      say: (s, i) => "L* " + number(s.lab[i][0], 1) + ", a* " + number(s.lab[i][1], 1) + ", b* " + number(s.lab[i][2], 1)
    }
  };

  function hue(lab) {
    if (lab[0] === null || Math.hypot(lab[1], lab[2]) < 3) return "";
    return ", hue angle " + number((Math.atan2(lab[2], lab[1]) * 180 / Math.PI + 360) % 360, 0) + "\u00b0";
  }

  function element(tag, attributes, parent) {
    const e = document.createElement(tag);
    Object.keys(attributes).forEach(k => k === "text" ? e.textContent = attributes[k] : e.setAttribute(k, attributes[k]));
    parent.appendChild(e);
    return e;
  }

  /* Sets up one strip's plot inside `root`; `s` holds its numbers. */
  function plot(root, s, index) {
    let kind = "load", at = -1, graph = null;
    const bar = element("fieldset", { class: "bar" }, root);
    element("legend", { class: "muted", text: "What the plot shows" }, bar);
    [["load", "Dye load"], ["density", "Density"], ["lab", "L*a*b*"]].forEach(([name, text]) => {
      const label = element("label", {}, bar);
      const radio = element("input", { type: "radio", name: "kind-" + index, value: name }, label);
      label.appendChild(document.createTextNode(text));
      radio.checked = name === kind;
      radio.addEventListener("change", () => { kind = name; show(); });
    });
    element("button", { type: "button", text: "Show all" }, bar).addEventListener("click", () => graph.resetZoom());
    const key = element("p", { class: "key muted" }, root);
    const picture = element("canvas", { class: "picture", "aria-hidden": "true" }, root);
    const box = element("div", {
      class: "canvas", tabindex: "0", role: "img",
      "aria-label": "Profile along the strip. " + root.dataset.words +
        " With the arrow keys you can step along it; the values are read out below."
    }, root);
    const out = element("output", { "aria-live": "polite", text: "Point at the plot, or step along it with the arrow keys. Drag to zoom." }, root);
    const image = document.getElementById("picture-" + index);
    if (image) {
      image.hidden = true;
      image.decode().then(() => drawPicture(), () => { });
    }

    function say(i) {
      if (i < 0 || i >= s.at.length) return;
      at = i;
      out.textContent = "";
      element("span", { class: "swatch", style: "background:" + s.rgb[i] }, out);
      out.appendChild(document.createTextNode((s.by_rf ? "Rf " : "Place ") + number(s.at[i], 3) + ": " +
        kinds[kind].say(s, i) + hue(s.lab[i]) + near(s.at[i])));
    }

    function near(x) {
      const b = s.bands.find(v => v.from !== null && x >= v.from && x <= v.to);
      return b ? ". In the band at Rf " + number(b.rf, 3) + " (" + b.hue + ")." : ".";
    }

    function drawPicture() {
      if (!graph) return;
      const scale = window.devicePixelRatio || 1, area = graph.getArea();
      picture.width = Math.max(1, picture.clientWidth * scale);
      picture.height = Math.max(1, picture.clientHeight * scale);
      const c = picture.getContext("2d");
      c.scale(scale, scale);
      c.beginPath();
      c.rect(area.x, 0, area.w, picture.clientHeight);
      c.clip();
      const left = graph.toDomXCoord(s.lower), right = graph.toDomXCoord(s.upper);
      if (image && image.complete && image.naturalWidth > 0) {
        c.drawImage(image, left, 0, right - left, picture.clientHeight);
      } else {
        ribbon(c, 0, picture.clientHeight, () => 0);
      }
      c.strokeStyle = colour("--line");
      c.strokeRect(left, .5, right - left, picture.clientHeight - 1);
    }

    /* The strip's own colours, a slice a sample. */
    function ribbon(c, fallbackTop, bottom, top) {
      const half = s.at.length > 1 ? Math.abs(graph.toDomXCoord(s.at[1]) - graph.toDomXCoord(s.at[0])) / 2 : 1;
      for (let i = 0; i < s.at.length; i++) {
        const y = top(i);
        if (y === null || y >= bottom) continue;
        c.fillStyle = s.rgb[i];
        c.fillRect(graph.toDomXCoord(s.at[i]) - half - .3, y, 2 * half + .6, bottom - y);
      }
    }

    function underlay(c, area, g) {
      graph = g;
      if (kind === "load") {
        ribbon(c, 0, g.toDomYCoord(0), i => s.load[i] === null ? null : Math.max(g.toDomYCoord(s.load[i]), area.y));
      }
      c.font = "12px " + getComputedStyle(document.body).fontFamily;
      c.textAlign = "center";
      if (s.by_rf) {
        mark(c, area, g, 0, "origin", []);
        mark(c, area, g, 1, s.front_seen ? "front" : "front?", s.front_seen ? [] : [3, 3]);
      }
      s.bands.forEach((b, i) => b.rf !== null && mark(c, area, g, b.rf, String(i + 1), [5, 4], 16));
    }

    /* Names of origin and front stand above the bands' numbers. */
    function mark(c, area, g, value, text, dash, down = 0) {
      const x = g.toDomXCoord(value);
      if (x < area.x || x > area.x + area.w) return;
      c.save();
      c.strokeStyle = c.fillStyle = colour("--muted");
      c.setLineDash(dash);
      c.beginPath();
      c.moveTo(x, area.y + 16 + down);
      c.lineTo(x, area.y + area.h);
      c.stroke();
      c.fillText(text, x, area.y + 12 + down);
      c.restore();
    }

    /* At least a faint tint's load, so that noise on blank paper is not blown up. */
    function highest() {
      return Math.max(.15, ...s.load.filter(v => v !== null));
    }

    /* Lines are told apart by colour and by dashes, and the key says both. */
    function showKey(k) {
      const looks = ["solid", "dashed", "dotted"], colours = k.colours();
      key.textContent = k.band ? "Line: dye load; grey: its 95 % interval; filled in the strip's own colours." : "";
      if (!k.band) k.labels.slice(1).forEach((name, i) => {
        element("span", { style: "color:" + colours[i] + ";font-weight:bold", text: name }, key);
        key.appendChild(document.createTextNode(" " + looks[i] + (i < 2 ? ", " : "")));
      });
    }

    function show() {
      const k = kinds[kind], rows = k.rows(s), series = {};
      k.labels.slice(1).forEach((name, i) => { series[name] = { strokePattern: [null, [8, 4], [2, 3]][i] }; });
      showKey(k);
      if (graph) { graph.destroy(); graph = null; }
      graph = new Dygraph(box, rows, {
        labels: k.labels, series: series, customBars: !!k.band, colors: k.colours(), strokeWidth: 1.4,
        valueRange: k.band ? [0, highest() * 1.3] : null,
        dateWindow: [Math.max(s.lower, -.5), Math.min(s.upper, 1.6)],
        xlabel: s.by_rf ? "Rf" : "place along the strip, from its lower edge", ylabel: k.title,
        legend: "never", gridLineColor: colour("--grid"), axisLineColor: colour("--muted"),
        fillAlpha: .25, xRangePad: 0, highlightCircleSize: 4, animatedZooms: false,
        axes: { x: { axisLabelFormatter: v => number(v, 2) }, y: { axisLabelWidth: 44, axisLabelFormatter: v => String(+v.toFixed(4)).replace("-", "\u2212") } },
        underlayCallback: underlay, drawCallback: g => { graph = g; drawPicture(); },
        highlightCallback: (e, x, points, row) => say(row)
      });
      if (at >= 0) say(at);
    }

    box.addEventListener("keydown", e => {
      const steps = { ArrowLeft: -1, ArrowRight: 1, PageDown: -20, PageUp: 20 };
      let i = at < 0 ? 0 : at;
      if (e.key in steps) i += steps[e.key] * (e.shiftKey ? 10 : 1);
      else if (e.key === "Home") i = 0;
      else if (e.key === "End") i = s.at.length - 1;
      else return;
      e.preventDefault();
      i = Math.min(Math.max(i, 0), s.at.length - 1);
      graph.setSelection(i);
      say(i);
    });
    dark.addEventListener("change", show);
    show();
  }

  document.querySelectorAll(".plot").forEach(root => {
    const i = Number(root.dataset.strip);
    if (data[i] && data[i].at.length > 1) plot(root, data[i], i);
  });
  window.addEventListener("beforeprint", () => document.querySelectorAll("main details").forEach(d => { d.open = true; }));
})();
