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
// So many beats without a line to the kernel are borne: the widgets mend it by themselves.
const BEATS_APART_ALLOWED = 3;

function pageKernel() {
  const data = document.getElementById("jupyter-config-data");
  return data && JSON.parse(data.textContent);
}

function heartbeat() {
  const page = pageKernel();
  if (!page) return;
  const address = `${page.baseUrl}api/kernels/${page.kernelId}`;
  const count = { misses: 0, apart: 0, met: false };
  let next = 0;
  const beat = async () => {
    const answer = await askFor(address);
    if (next === null) return; // the page was left meanwhile
    judge(answer, count);
    // Not found is certain: the server has ended this kernel, or it crashed.
    if (!answer || answer.status !== 404) next = setTimeout(beat, HEARTBEAT_MS);
  };
  next = setTimeout(beat, HEARTBEAT_MS);
  addEventListener("pagehide", () => {
    clearTimeout(next);
    next = null;
  });
}

// What the server says of a kernel; null if nobody answers, or a proxy in its stead.
async function askFor(address) {
  const patience = AbortSignal.timeout(HEARTBEAT_MS);
  const answer = await fetch(address, { cache: "no-store", signal: patience }).catch(() => null);
  if (!answer || answer.status >= 500) return null;
  const kernel = answer.ok ? await answer.json().catch(() => null) : null;
  return { status: answer.status, kernel };
}

function judge(answer, count) {
  const kernel = answer && answer.kernel;
  const line = Boolean(kernel && kernel.connections);
  count.met = count.met || line;
  count.misses = kernel ? 0 : count.misses + 1;
  count.apart = kernel && count.met && !line ? count.apart + 1 : 0;
  if (answer && answer.status === 404) tellLost("gone");
  else if (count.misses > MISSES_ALLOWED) tellLost(answer ? "gone" : "silent");
  else if (count.apart > BEATS_APART_ALLOWED) tellLost("apart");
  else if (line) tellLost("");
}

const LOST = {
  gone: "This page has lost its engine: the plots no longer follow the sliders.",
  silent:
    "This page has lost its engine for now: the workbook’s server does not answer. " +
    "Leave the page open; it asks again every few seconds.",
  apart:
    "This page has lost its line to its engine: the plots do not follow the sliders. " +
    "Wait a little,",
};

// Voila ends the kernel on `beforeunload`. Telephones do not fire that, and elsewhere it comes
// seconds before the next page, or for nothing, when the way turns out to lead to a download. So
// its listener, added later than this, is kept from it, and the kernel ends with `pagehide`.
function endKernelWithPage() {
  addEventListener("beforeunload", (event) => event.stopImmediatePropagation());
  addEventListener("pagehide", () => {
    const page = pageKernel();
    if (!page) return; // left before the kernel was known
    const token = document.cookie.match(/\b_xsrf=([^;]*)/);
    const form = new FormData();
    form.append("_xsrf", token ? token[1] : "");
    navigator.sendBeacon(`${page.baseUrl}voila/api/shutdown/${page.kernelId}`, form);
  });
  // Back from the browser's store of whole pages: everything is there but the kernel.
  addEventListener("pageshow", (event) => event.persisted && tellLost("gone"));
}

// What follows the # of a link to the states that the page's panels had last.
function presentStates() {
  const kept = [...document.querySelectorAll("[data-ow-state]")].map((each) => each.dataset.owState);
  return kept.filter(Boolean).join(";");
}

function tellLost(what) {
  const banner = document.querySelector(".ow-gone");
  if ((banner.dataset.owLost || "") === what) return; // told once: screen readers speak it once
  banner.dataset.owLost = what;
  banner.hidden = !what; // first shown, then filled: so that screen readers speak it
  banner.replaceChildren(...lostParts(what));
}

function lostParts(what) {
  if (!what) return [];
  // Without a server a reload would lead away from the page, and from what it shows.
  return what === "silent" ? [lostWords(what)] : [lostWords(what), reloader()];
}

function lostWords(what) {
  const words = document.createElement("p");
  const reload = what === "apart" ? "or reload the page" : "Reload the page";
  const from = presentStates() ? "from where the sliders are" : "from its starting values";
  words.textContent = LOST[what] + (what === "silent" ? "" : ` ${reload} to go on ${from}.`);
  return words;
}

function reloader() {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Reload the page";
  button.addEventListener("click", () => {
    const states = presentStates();
    if (states) history.replaceState(null, "", `#${states}`);
    location.reload();
  });
  return button;
}

// ----- loading ----------------------------------------------------------------------------

const DRAWING_PATIENCE_MS = 30000;

// Now and then Voila's page started and drew none of its widgets, on a busy machine. The cause that
// was found is mended (OUTPUT_S in serve.py: outputs that came late were left out); a line that
// breaks while the page starts does the same. Another try mends it. A page that has not started yet is only slow, and
// another try would make it slower: it is given long. Each try waits twice as long as the last.
const STALLED_MS = 15000;
const STALLED_BEFORE_START_MS = 90000;
const LOOK_MS = 500;
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
  const stopWatching = whenStalled(tryAgain);
  const observer = new MutationObserver(() => {
    if (!document.querySelector("#rendered_cells .jupyter-widgets")) return;
    observer.disconnect();
    stopWatching();
    drawn();
    finishDrawing(status);
  });
  observer.observe(document.getElementById("rendered_cells"), { childList: true, subtree: true });
  setTimeout(() => finishDrawing(status), DRAWING_PATIENCE_MS);
}

// Calls back once, unless stopped: long after the page's application has started, or very long
// without its start. It hangs itself on the window when it has.
function whenStalled(callBack) {
  const opened = performance.now();
  let started = null;
  const timer = setInterval(() => {
    const now = performance.now();
    if (window.jupyterapp) started ??= now;
    const waited = started === null ? now - opened : now - started;
    const patience = started === null ? STALLED_BEFORE_START_MS : STALLED_MS * 2 ** triedAgain();
    if (waited < patience) return;
    clearInterval(timer);
    callBack();
  }, LOOK_MS);
  return () => clearInterval(timer);
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

// The widget counts the files that it holds. They are taken over at once, so the count says nothing.
function nameUpload(button) {
  const words = document.createTreeWalker(button, NodeFilter.SHOW_TEXT);
  while (words.nextNode()) {
    const plain = words.currentNode.nodeValue.replace(/ \(\d+\)$/, "");
    if (plain !== words.currentNode.nodeValue) words.currentNode.nodeValue = plain;
  }
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
  document.querySelectorAll(".jupyter-button.widget-upload").forEach(nameUpload);
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
endKernelWithPage();
document.addEventListener("DOMContentLoaded", () => {
  heartbeat();
  watchDrawing();
  keepTidy();
});
