// What the pages of a class that are no chapter do by themselves. It is written into them: who has
// not given the class code gets nothing else from this server.
"use strict";

const COUNT_AGAIN_MS = 15000;
const TRY_AGAIN_MS = 20000;

// What follows the # of the address holds a page's state: it must survive the question.
function keepState(form) {
  form.action += location.hash;
}

// The projector's page: how many are here, without a flash of the page or of its QR code.
async function countAgain(count) {
  const answer = await fetch(location, { cache: "no-store" }).catch(() => null);
  const page = answer && answer.ok ? await answer.text() : "";
  const now = new DOMParser().parseFromString(page, "text/html").querySelector("[data-ow-count]");
  count.textContent = now ? now.textContent : "The class’s server does not answer.";
}

// A full class. The page is asked for only when the server is there: otherwise the browser's own
// page of errors would take this one's place, and nobody would try again.
async function tryAgain(page) {
  const answers = await fetch(page.dataset.owFull, { redirect: "manual" }).catch(() => null);
  if (answers) location.reload();
}

function forEach(attribute, act) {
  document.querySelectorAll(`[${attribute}]`).forEach(act);
}

forEach("data-ow-door", keepState);
forEach("data-ow-count", (count) => setInterval(countAgain, COUNT_AGAIN_MS, count));
forEach("data-ow-full", (page) => setInterval(tryAgain, TRY_AGAIN_MS, page));
