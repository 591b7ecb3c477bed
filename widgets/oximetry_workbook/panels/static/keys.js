// The presenter's keys and buttons, and the list of them. With clock.js and desk.js one module.

const KEYS = [
  { keys: [" "], act: "on", written: "Space", means: "reveal what is covered, then go on" },
  { keys: ["ArrowRight", "PageDown"], act: "next", written: "→, Page Down", means: "next scene" },
  { keys: ["ArrowLeft", "PageUp"], act: "back", written: "←, Page Up", means: "scene before" },
  { keys: ["Home"], act: "first", written: "Home", means: "first scene" },
  { keys: ["End"], act: "last", written: "End", means: "last scene" },
  { keys: ["r"], act: "reveal", written: "r", means: "reveal all that is covered" },
  { keys: ["p"], act: "poll", written: "p", means: "show or hide the poll" },
  { keys: ["s"], act: "tries", written: "s", means: "show or hide the sliders, to try something" },
  { keys: ["n"], act: "notes", written: "n", means: "show or hide your notes" },
  { keys: ["b", "."], act: "blank", written: "b, .", means: "blank screen; any key brings it back" },
  { keys: ["t"], act: "pause", written: "t", means: "stop the clock, or let it run" },
  { keys: ["0"], act: "zero", written: "0", means: "set the clock to zero" },
  { keys: ["f"], act: "full", written: "f", means: "full screen" },
  { keys: ["?"], act: "help", written: "?", means: "these keys" },
  { keys: ["Escape"], act: "close", written: "Esc", means: "leave a field; close" },
];
const SWITCHES = ["poll", "tries", "notes", "blank", "help"];
const COMMANDS = ["on", "next", "back", "first", "last", "reveal"];
const BUTTONS = [
  ["back", "Back"], ["next", "Next"], ["reveal", "Reveal"], ["poll", "Poll"], ["tries", "Try it"],
  ["notes", "Notes"], ["blank", "Blank"], ["pause", "Pause"], ["full", "Full screen"],
  ["help", "Keys"], ["close", "Close"],
];

function make(tag, className, words = "") {
  const made = document.createElement(tag);
  made.className = className;
  made.textContent = words;
  return made;
}

function setText(element, words) {
  if (element.textContent !== words) element.textContent = words;
}

function makeHelp() {
  const help = make("section", "ow-keys-help");
  const table = make("table", "");
  for (const { written, means } of KEYS) {
    const row = table.insertRow();
    row.append(make("th", "", written), make("td", "", means));
    row.firstChild.scope = "row";
  }
  help.setAttribute("aria-label", "Keys");
  help.tabIndex = -1;
  help.append(make("h3", "", "Keys"), table);
  return help;
}

