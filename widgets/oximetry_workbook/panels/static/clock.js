// The presenter's clock: time spent at each scene, counted in the browser.

class Clock {
  constructor() {
    this.spent = new Map();
    this.place = 0;
    this.paused = false;
    this.last = null; // null while the presenter is closed
  }

  tick(now) {
    if (this.last !== null && !this.paused)
      this.spent.set(this.place, this.atScene() + now - this.last);
    if (this.last !== null) this.last = now;
  }

  start(now) { this.last = now; }

  stop(now) {
    this.tick(now);
    this.last = null;
  }

  goTo(place, now) {
    this.tick(now);
    this.place = place;
  }

  pause(now) {
    this.tick(now);
    this.paused = !this.paused;
  }

  zero() { this.spent.clear(); }

  atScene() { return this.spent.get(this.place) || 0; }

  atLesson() { return [...this.spent.values()].reduce((sum, each) => sum + each, 0); }
}

function minutes(ms) {
  const seconds = Math.floor(ms / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

function showTime(part, name, spent, planned) {
  setText(part, `${name} ${minutes(spent)} of ${minutes(planned * 60000)}`);
  part.classList.toggle("ow-over", planned > 0 && spent > planned * 60000);
}

