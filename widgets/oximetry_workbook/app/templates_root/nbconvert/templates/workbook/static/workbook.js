// What the workbook's pages do in the browser, besides the widgets themselves.
"use strict";

// ----- light and dark ---------------------------------------------------------------------

function themeButton() {
  const button = document.querySelector("[data-ow-theme]");
  const show = () => {
    const dark = document.documentElement.dataset.theme === "dark";
    button.setAttribute("aria-pressed", String(dark));
    button.textContent = dark ? "Light" : "Dark";
    button.setAttribute("aria-label", dark ? "Use light colours" : "Use dark colours");
  };
  button.addEventListener("click", () => {
    const theme = document.documentElement.dataset.theme === "dark" ? "light" : "dark";
    document.documentElement.dataset.theme = theme;
    try { localStorage.setItem("ow-theme", theme); } catch (refused) { /* lasts for this page */ }
    show();
  });
  show();
}

// ----- chapter list -----------------------------------------------------------------------

function chapterList() {
  const list = document.querySelector(".ow-chapters");
  document.addEventListener("click", (event) => {
    if (!list.contains(event.target)) list.open = false;
  });
  list.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    list.open = false;
    list.querySelector("summary").focus();
  });
}

// ----- is the page's kernel still there? ---------------------------------------------------

const HEARTBEAT_MS = 5000;
const MISSES_ALLOWED = 1; // one lost answer may be a hiccup of the network

function heartbeat() {
  const data = document.getElementById("jupyter-config-data");
  if (!data) return;
  const { baseUrl, kernelId } = JSON.parse(data.textContent);
  const address = `${baseUrl}api/kernels/${kernelId}`;
  let misses = 0;
  const beat = async () => {
    const answer = await fetch(address, { cache: "no-store" }).catch(() => null);
    if (answer && answer.ok) misses = 0;
    else misses += 1;
    // Not found is certain: the server has ended this kernel, or it crashed.
    if ((answer && answer.status === 404) || misses > MISSES_ALLOWED) tellGone();
    else setTimeout(beat, HEARTBEAT_MS);
  };
  setTimeout(beat, HEARTBEAT_MS);
}

// What follows the # of a link to the states that the page's panels had last.
function presentStates() {
  const kept = [...document.querySelectorAll("[data-ow-state]")].map((each) => each.dataset.owState);
  return kept.filter(Boolean).join(";");
}

function tellGone() {
  const banner = document.querySelector(".ow-gone");
  const words = document.createElement("p");
  const states = presentStates();
  words.textContent =
    "This page has lost its engine: the plots no longer follow the sliders. " +
    (states
      ? "Reload the page to go on from where the sliders are."
      : "Reload the page to go on from its starting values.");
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Reload the page";
  button.addEventListener("click", () => {
    if (states) history.replaceState(null, "", `#${states}`);
    location.reload();
  });
  banner.hidden = false; // first shown, then filled: so that screen readers speak it
  banner.replaceChildren(words, button);
}

// ----- loading ----------------------------------------------------------------------------

const DRAWING_PATIENCE_MS = 30000;

// Now and then Voila's page gets all its widgets' states and draws none of them (about one page
// in twenty, Voila 0.5.13): its own start and the widgets' arrival race. Another try mends it. Each
// waits twice as long as the one before, for machines that are slow.
const STALLED_MS = 10000;
const MOST_TRIES = 3;
const TRIED_AGAIN = `ow-tried-again-${location.pathname}`;

function triedAgain() {
  try {
    return Number(sessionStorage.getItem(TRIED_AGAIN));
  } catch {
    return MOST_TRIES; // storage is switched off: rather an empty page than an endless circle
  }
}

function tryAgain() {
  const tries = triedAgain();
  if (tries >= MOST_TRIES) return;
  sessionStorage.setItem(TRIED_AGAIN, String(tries + 1));
  location.reload();
}

function drawn() {
  try {
    sessionStorage.removeItem(TRIED_AGAIN);
  } catch { /* nothing was kept */ }
}

function watchDrawing() {
  const outputs = 'script[type="application/vnd.voila.cell-output+json"]';
  const widgets = [...document.querySelectorAll(outputs)].some((output) =>
    output.textContent.includes("application/vnd.jupyter.widget-view+json"),
  );
  const status = document.querySelector(".ow-drawing");
  if (!widgets) return finishDrawing(status);
  status.textContent = "Drawing the plots …";
  const observer = new MutationObserver(() => {
    if (!document.querySelector("#rendered_cells .jupyter-widgets")) return;
    observer.disconnect();
    clearTimeout(stalled);
    drawn();
    finishDrawing(status);
  });
  const stalled = setTimeout(tryAgain, STALLED_MS * 2 ** triedAgain());
  observer.observe(document.getElementById("rendered_cells"), { childList: true, subtree: true });
  setTimeout(() => finishDrawing(status), DRAWING_PATIENCE_MS);
}

function finishDrawing(status) {
  status.textContent = "";
  document.body.classList.remove("ow-starting");
}

// Voila hangs its frame at the end of the body; the page wants it between header and footer.
function takeFrameIn() {
  const place = (observer) => {
    const frame = document.getElementById("main");
    if (!frame) return;
    document.getElementById("ow-main").append(frame);
    observer.disconnect();
  };
  new MutationObserver((_, observer) => place(observer)).observe(document.body, {
    childList: true,
  });
}

// ----- names for screen readers, and downloads ----------------------------------------------

const TIDY_MS = 200;
const FOLD = '[class*="widget-Collapse-header"]';

function setIfNew(element, attribute, value) {
  if (value && element.getAttribute(attribute) !== value) element.setAttribute(attribute, value);
}

function text(element) {
  return element ? element.textContent.trim() : "";
}

function nameControl(control) {
  const label = text(control.querySelector(".widget-label"));
  const field = control.querySelector('input[type="number"], input[type="text"]');
  const shown = field ? field.value : text(control.querySelector(".widget-readout"));
  for (const handle of control.querySelectorAll(".noUi-handle")) {
    setIfNew(handle, "aria-label", label);
    setIfNew(handle, "aria-valuetext", shown);
  }
  for (const input of control.querySelectorAll("input, select, textarea")) {
    setIfNew(input, "aria-label", label);
  }
}

function namePlot(plot) {
  const says = text(plot.querySelector(".ow-plot-says"));
  for (const picture of plot.querySelectorAll(".bqplot > svg:not(.svg-background)")) {
    setIfNew(picture, "role", "img");
    setIfNew(picture, "aria-label", says);
  }
}

// An accordion's header is a bare <div>: make it a button for the keyboard and screen readers.
function nameFold(header) {
  setIfNew(header, "role", "button");
  setIfNew(header, "tabindex", "0");
  const folded = header.nextElementSibling.classList.contains("lm-mod-hidden");
  setIfNew(header, "aria-expanded", String(!folded));
}

function pressFold(event) {
  if (!event.target.matches(FOLD) || ![" ", "Enter"].includes(event.key)) return;
  event.preventDefault();
  event.target.click();
}

function download(link) {
  link.dataset.owDownload = "done";
  link.click();
}

// ----- how many checkpoints were answered, kept for this browser tab -------------------------

function keptProgress(chapter) {
  try { return JSON.parse(sessionStorage.getItem(`ow-progress-${chapter}`)); } catch { return null; }
}

function setText(element, words) {
  if (element.textContent !== words) element.textContent = words;
}

function keepProgress(line) {
  const { owProgress: chapter, owSolved, owQuestions } = line.dataset;
  const [solved, questions] = [Number(owSolved), Number(owQuestions)];
  const kept = keptProgress(chapter);
  const earlier = kept && kept.solved > solved;
  setText(
    line.querySelector("[data-ow-earlier]"),
    earlier ? ` anew; ${kept.solved} of ${kept.questions} the time before` : "",
  );
  if (earlier) return;
  try {
    sessionStorage.setItem(`ow-progress-${chapter}`, JSON.stringify({ solved, questions }));
  } catch { /* storage is switched off: progress lasts as long as the page */ }
}

function tellProgress(place) {
  const kept = keptProgress(place.dataset.owProgressOf);
  setText(place, kept && kept.solved ? `${kept.solved} of ${kept.questions} questions answered` : "");
}

function tidy() {
  document.querySelectorAll("[data-ow-progress]").forEach(keepProgress);
  document.querySelectorAll("[data-ow-progress-of]").forEach(tellProgress);
  document.querySelectorAll(".ow-control").forEach(nameControl);
  document.querySelectorAll(".ow-plot").forEach(namePlot);
  document.querySelectorAll(FOLD).forEach(nameFold);
  document.querySelectorAll(".ow-live").forEach((live) => setIfNew(live, "aria-live", "polite"));
  document.querySelectorAll('a[data-ow-download]:not([data-ow-download="done"])').forEach(download);
}

function keepTidy() {
  let waiting = null;
  const later = () => {
    // A drag changes the page many times a second; once a fifth of a second is often enough.
    waiting = waiting || setTimeout(() => { waiting = null; tidy(); }, TIDY_MS);
  };
  new MutationObserver(later).observe(document.getElementById("rendered_cells"), {
    childList: true,
    characterData: true,
    subtree: true,
    attributeFilter: ["aria-valuetext", "class"],
  });
  document.addEventListener("keydown", pressFold);
  later();
}

// This script runs right after the header: its buttons work while the chapter is on its way.
themeButton();
chapterList();
takeFrameIn();
document.addEventListener("DOMContentLoaded", () => {
  heartbeat();
  watchDrawing();
  keepTidy();
});
