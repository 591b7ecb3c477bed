// Faults of layout that a test can see: each function lists what it finds, in words.
"use strict";

window.layoutFaults = {
  sticksOut: () => [...document.querySelectorAll(".ow-panel *")]
  .filter((each) => each.getClientRects().length && getComputedStyle(each).visibility !== "hidden")
  // what a plot clips to its own area, and what a slider keeps for wide fingers, is not seen
  .filter((each) => !each.closest("[clip-path], .toolbar_div, .noUi-touch-area"))
  // a group's box counts what is clipped inside it; its parts are judged one by one
  .filter((each) => each.tagName !== "g")
  .filter((each) => {
    const box = each.getBoundingClientRect();
    return box.width && (box.left < -0.5 || box.right > innerWidth + 0.5);
  })
  .map((each) => `${each.tagName}.${each.getAttribute("class")}: ${each.textContent.slice(0, 40)}`),

  overlaps: () => {
  const groups = [".ow-plots > *", ".ow-bench-body > *", ".ow-panel > *", ".ow-side > *",
    ".ow-controls > *", ".ow-actions > *", ".ow-more > *", ".ow-numbers > *", ".ow-strip > *",
    ...[...document.querySelectorAll(".ow-card, .ow-card-top, .ow-keys, .ow-pair, .ow-stack, "
      + ".ow-magnifier, .ow-control, .ow-control-top")].map((parent) => [...parent.children])];
  const found = [];
  for (const group of groups) {
    const siblings = (typeof group === "string" ? [...document.querySelectorAll(group)] : group)
      .filter((each) => each.getClientRects().length);
    siblings.forEach((one, place) => siblings.slice(place + 1).forEach((other) => {
      if (one.contains(other)) return; // a panel within a panel
      const [a, b] = [one.getBoundingClientRect(), other.getBoundingClientRect()];
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (across > 1 && down > 1)
        found.push(`${one.className} over ${other.className} by ${across} x ${down}`);
    }));
  }
  return found;
},

  cutOff: () => {
  const inside = (inner, outer) => inner.left >= outer.left - 1 && inner.right <= outer.right + 1
    && inner.top >= outer.top - 1 && inner.bottom <= outer.bottom + 1;
  const found = [];
  for (const svg of document.querySelectorAll(".bqplot > svg.svg-background")) {
    const frame = svg.getBoundingClientRect();
    for (const words of svg.querySelectorAll("text")) {
      const box = words.getBoundingClientRect();
      if (words.textContent.trim() && box.width && !inside(box, frame))
        found.push(`${words.textContent} leaves its plot`);
    }
    const card = svg.closest(".ow-card").getBoundingClientRect();
    if (!inside(frame, card)) found.push("a plot leaves its card");
  }
  for (const each of document.querySelectorAll(
      ".ow-panel .widget-html-content, .ow-panel .widget-label, .ow-panel button, .ow-panel h3"))
    if (each.getClientRects().length && (each.scrollWidth > each.clientWidth + 1
        || each.scrollHeight > each.clientHeight + 1)
        && getComputedStyle(each).overflow !== "visible")
      found.push(`${each.className} cuts off: ${each.textContent.slice(0, 40)}`);
  return found;
},

  axisWordsOverTicks: () => [...document.querySelectorAll(".bqplot .axis")].flatMap((axis) => {
  const title = axis.querySelector(".axislabel");
  if (!title || !title.textContent.trim()) return [];
  const one = title.getBoundingClientRect();
  return [...axis.querySelectorAll(".tick text")].filter((tick) => {
    const other = tick.getBoundingClientRect();
    return Math.min(one.right, other.right) - Math.max(one.left, other.left) > 1
      && Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top) > 1;
  }).map((tick) => `${title.textContent} over ${tick.textContent}`);
}),
};
