// The presenter's desk. What needs no engine happens here, so that it answers at once while the
// kernel draws: opening and closing, the blank screen, notes, the clock, and where the focus goes.

const TYPED_INTO = "input, textarea, select, [contenteditable='true']";
const SLIDER = '[role="slider"], .noUi-handle';
const PRESSED = 'button, a[href], summary, [role="button"]';
const FOCUSABLE = `${TYPED_INTO}, ${PRESSED}, [tabindex]`;
const TICK_MS = 500;
const GONE = "This page has lost its engine. Press Esc, then reload the page.";

class Desk {
  constructor(model, el) {
    this.model = model;
    this.el = el;
    this.clock = new Clock();
    this.isOpen = false;
    this.before = null; // what had the focus before the presenter opened
    this.makeParts();
    this.watch();
  }

  get cover() { return this.el.closest(".ow-presenter"); }

  makeParts() {
    this.buttons = {};
    for (const [act, words] of BUTTONS) {
      const button = make("button", `ow-desk-${act}`, words);
      const key = KEYS.find((each) => each.act === act);
      button.type = "button";
      button.title = `${key.means} (${key.written})`;
      button.addEventListener("click", () => this.act(act));
      this.buttons[act] = button;
    }
    this.time = make("div", "ow-clock");
    this.sceneTime = make("span", "");
    this.lessonTime = make("span", "");
    this.time.setAttribute("role", "timer");
    this.time.setAttribute("aria-live", "off");
    this.time.append(this.sceneTime, this.lessonTime);
    this.help = makeHelp();
    this.gone = make("p", "ow-desk-gone");
    this.gone.setAttribute("role", "alert");
    this.el.classList.add("ow-desk");
    const buttons = Object.values(this.buttons);
    this.el.append(...buttons, this.gone, this.help, make("div", "ow-blank"));
    this.buttons.pause.before(this.time);
  }

  watch() {
    const still = matchMedia("(prefers-reduced-motion: reduce)");
    const tellStill = () => {
      this.model.set("still", still.matches);
      this.model.save_changes();
    };
    this.quiet = new AbortController();
    const heard = { signal: this.quiet.signal };
    still.addEventListener("change", tellStill, heard);
    // before any shortcuts of the page around, which listen at the document
    window.addEventListener("keydown", (event) => this.press(event), { ...heard, capture: true });
    document.addEventListener("focusin", (event) => this.keepFocus(event), heard);
    document.addEventListener("click", (event) => this.clicked(event), heard);
    document.addEventListener("fullscreenchange", () => this.toTop(), heard);
    this.onOpen = () => (this.model.get("open_now") ? this.openOnceThere() : this.close());
    this.onPlace = () => this.arrive();
    this.onState = () => this.draw();
    this.model.on("change:open_now", this.onOpen);
    this.model.on("change:place", this.onPlace);
    this.model.on("change", this.onState);
    tellStill();
    this.onOpen();
  }

  leave() {
    this.close();
    this.quiet.abort();
    this.model.off("change:open_now", this.onOpen);
    this.model.off("change:place", this.onPlace);
    this.model.off("change", this.onState);
  }

  // ----- opening and closing

  openOnceThere() {
    if (!this.model.get("open_now") || this.isOpen) return;
    if (this.el.isConnected) this.open();
    else requestAnimationFrame(() => this.openOnceThere());
  }

  open() {
    const { cover } = this;
    this.isOpen = true;
    this.before = document.activeElement;
    cover.tabIndex = -1;
    cover.setAttribute("role", "dialog");
    cover.setAttribute("aria-modal", "true");
    cover.dataset.lmSuppressShortcuts = "true"; // JupyterLab's own, of single letters
    // the top layer: nothing around it can clip it, or lie over it
    if (cover.showPopover) {
      cover.popover = "manual";
      cover.showPopover();
    }
    document.documentElement.classList.add("ow-presenting");
    cover.focus();
    this.clock.start(performance.now());
    this.ticking = setInterval(() => this.tick(), TICK_MS);
    this.arrive();
  }

  close() {
    if (!this.isOpen) return;
    const { cover } = this;
    this.isOpen = false;
    clearInterval(this.ticking);
    this.clock.stop(performance.now());
    SWITCHES.forEach((name) => this.turn(name, false));
    if (document.fullscreenElement) document.exitFullscreen();
    if (cover.matches("[popover]:popover-open")) cover.hidePopover();
    document.documentElement.classList.remove("ow-presenting");
    if (this.before && this.before.isConnected) this.before.focus();
    this.model.set("open_now", false);
    this.model.save_changes();
  }

  // What is full screen lies over what came to the top before.
  toTop() {
    const { cover } = this;
    if (!this.isOpen || !cover.matches("[popover]:popover-open")) return;
    const had = document.activeElement;
    cover.hidePopover();
    cover.showPopover();
    (cover.contains(had) ? had : cover).focus();
  }

  // ----- what is shown

  arrive() {
    this.clock.goTo(this.model.get("place"), performance.now());
    this.turn("poll", this.model.get("polled"));
    this.draw();
  }

  turn(name, on) {
    this.cover.toggleAttribute(`data-ow-${name}`, on);
    if (this.buttons[name]) this.buttons[name].setAttribute("aria-pressed", String(on));
  }

  isOn(name) { return this.cover.hasAttribute(`data-ow-${name}`); }

  draw() {
    if (!this.isOpen) return;
    const [place, count] = [this.model.get("place"), this.model.get("count")];
    this.cover.setAttribute("aria-label", this.model.get("name"));
    this.able("back", place > 0);
    this.able("next", place < count - 1);
    this.able("reveal", this.model.get("covered"));
    this.buttons.poll.hidden = !this.model.get("polled");
    this.tick();
  }

  // A button that holds the focus and is disabled would take the keys away with it.
  able(name, on) { this.buttons[name].setAttribute("aria-disabled", String(!on)); }

  tick() {
    const { clock, model } = this;
    clock.tick(performance.now());
    showTime(this.sceneTime, "Scene", clock.atScene(), model.get("scene_minutes"));
    showTime(this.lessonTime, "Lesson", clock.atLesson(), model.get("lesson_minutes"));
    setText(this.buttons.pause, clock.paused ? "Go on" : "Pause");
    this.time.classList.toggle("ow-paused", clock.paused);
    setText(this.gone, document.querySelector(".ow-gone:not([hidden])") ? GONE : "");
    for (const button of this.cover.querySelectorAll(".jupyter-button[title]"))
      if (button.title && button.ariaLabel !== button.title) button.ariaLabel = button.title;
    this.fit(this.cover.querySelector(".ow-strip"));
    if (document.activeElement === document.body) this.cover.focus(); // its place was taken away
  }

  // A long sentence under the numbers is set smaller until it is not cut.
  fit(strip) {
    if (!strip) return;
    const now = `${strip.textContent} ${strip.clientWidth} ${strip.clientHeight}`;
    if (now === this.fitted) return;
    this.fitted = now;
    const cut = () => strip.scrollHeight > strip.clientHeight + 1;
    for (let share = 1; share > 0.6; share -= 0.05) {
      strip.style.setProperty("--ow-fit", share.toFixed(2));
      if (!cut()) break;
    }
    // what is cut all the same, keys can scroll to
    if (cut()) strip.tabIndex = 0;
    else strip.removeAttribute("tabindex");
  }

  // ----- what is done

  act(name) {
    if (COMMANDS.includes(name)) this.model.send({ command: name });
    else if (SWITCHES.includes(name)) this.turnOver(name);
    else this[name]();
  }

  turnOver(name) {
    if (name === "poll" && !this.model.get("polled")) return;
    this.turn(name, !this.isOn(name));
    if (name === "help") (this.isOn("help") ? this.help : this.cover).focus();
  }

  pause() {
    this.clock.pause(performance.now());
    this.tick();
  }

  zero() {
    this.clock.zero();
    this.tick();
  }

  full() {
    if (document.fullscreenElement) document.exitFullscreen();
    else document.documentElement.requestFullscreen().catch(() => { /* refused: stay as it is */ });
  }

  // ----- keys and focus

  press(event) {
    if (!this.isOpen || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Tab") this.turnRound(event);
    else if (this.isOn("blank") && event.key !== "Shift") this.swallow(event, "blank");
    else if (event.key === "Escape") this.escape(event);
    else this.pressNamed(event);
  }

  pressNamed(event) {
    const on = document.activeElement;
    const known = KEYS.find((each) => each.keys.includes(event.key));
    const moves = event.key.length > 1 || event.key === " "; // arrows and their like
    if (!known || on.matches(TYPED_INTO)) return;
    if (on.matches(SLIDER) && moves) return;
    if (on.matches(PRESSED) && event.key === " ") return;
    this.swallow(event, event.key === " " && event.shiftKey ? "back" : known.act);
  }

  swallow(event, act) {
    event.preventDefault();
    event.stopPropagation();
    if (!event.repeat) this.act(act); // a key held down does not run through the lesson
  }

  escape(event) {
    if (document.activeElement.matches(`${TYPED_INTO}, ${SLIDER}`)) {
      event.preventDefault();
      event.stopPropagation();
      this.cover.focus();
    } else this.swallow(event, this.isOn("help") ? "help" : "close");
  }

  // After the last comes the first: the focus stays inside.
  turnRound(event) {
    const inside = [...this.cover.querySelectorAll(FOCUSABLE)].filter(
      (each) => each.tabIndex >= 0 && !each.disabled && each.getClientRects().length
        && getComputedStyle(each).visibility !== "hidden",
    );
    const [first, last] = [inside[0], inside[inside.length - 1]];
    const at = document.activeElement;
    const outside = !inside.includes(at);
    if (event.shiftKey && (outside || at === first)) last.focus();
    else if (!event.shiftKey && at === last) first.focus();
    else if (!event.shiftKey && outside && !this.cover.contains(at)) first.focus();
    else return;
    event.preventDefault();
  }

  keepFocus(event) {
    if (this.isOpen && !this.cover.contains(event.target)) this.cover.focus();
  }

  // A button pressed by mouse gives the keys back: the next Space is not for it.
  clicked(event) {
    if (!this.isOpen || event.detail === 0) return;
    if (event.target.closest(PRESSED) && !event.target.closest(SLIDER)) this.cover.focus();
  }
}

function render({ model, el }) {
  const desk = new Desk(model, el);
  return () => desk.leave();
}

export default { render };
