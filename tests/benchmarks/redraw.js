// When the plots of a page change, and when each change was on screen [ms, the page's own clock].
"use strict";

const CURVE = '.bqplot path.line[d*="L"]';
const DRAWN = ["d", "transform", "x", "y", "width", "height"];

window.redraw = { first: null, input: null, shown: null, changes: 0, lastChange: 0, waiting: false };

// From the start of the navigation until a plot's curve is in the frame that comes next.
function lookForFirst() {
  if (document.querySelector(CURVE)) redraw.first = performance.now();
  else requestAnimationFrame(lookForFirst);
}

// After the frame in which a change is drawn, the first task that comes.
function afterFrame(then) {
  requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = then;
    port2.postMessage(null);
  });
}

function noteChange() {
  redraw.changes += 1;
  redraw.lastChange = performance.now();
  if (redraw.waiting) return;
  redraw.waiting = true;
  afterFrame(() => {
    redraw.waiting = false;
    redraw.shown = performance.now();
  });
}

redraw.watch = () => {
  const observer = new MutationObserver(noteChange);
  const what = { subtree: true, childList: true, attributeFilter: DRAWN };
  document.querySelectorAll(".bqplot").forEach((plot) => observer.observe(plot, what));
  for (const kind of ["keydown", "pointermove"]) {
    document.addEventListener(kind, (event) => { redraw.input = event.timeStamp; }, true);
  }
};

redraw.forget = () => Object.assign(redraw, { input: null, shown: null, changes: 0 });

// Resolves with the time from the last input to the last change on screen, once all is still.
redraw.settled = (stillMs, patienceMs) => new Promise((resolve, reject) => {
  const start = performance.now();
  const look = () => {
    const now = performance.now();
    const still = redraw.changes && !redraw.waiting && now - redraw.lastChange > stillMs;
    if (still) resolve(redraw.shown - redraw.input);
    else if (now - start > patienceMs) reject(new Error("the plots did not redraw"));
    else setTimeout(look, 20);
  };
  look();
});

requestAnimationFrame(lookForFirst);
