// Sends a file to the kernel in slices. The next slice leaves when the kernel asks for it, so that
// Cancel is heard, and the server never has more than one slice to hold.

const BUTTON = "jupyter-widgets jupyter-button widget-button";

const megabytes = (bytes) => (bytes / 1e6).toFixed(bytes < 1e7 ? 1 : 0);

function make(tag, className, text = "") {
  const element = document.createElement(tag);
  element.className = className;
  element.textContent = text;
  if (tag === "button") element.type = "button";
  return element;
}

function makeParts(words, accept) {
  const parts = {
    choose: make("button", BUTTON, words),
    input: make("input", ""),
    row: make("div", "ow-upload-row"),
    bar: make("progress", ""),
    far: make("span", "ow-upload-far"),
    cancel: make("button", BUTTON, "Cancel upload"),
    says: make("p", "ow-upload-says"),
  };
  Object.assign(parts.input, { type: "file", accept, hidden: true, tabIndex: -1 });
  parts.input.setAttribute("aria-label", words);
  parts.row.hidden = true;
  parts.row.append(parts.bar, parts.far, parts.cancel);
  parts.says.setAttribute("role", "status");
  return parts;
}

function render({ model, el }) {
  const parts = makeParts(model.get("words"), model.get("accept"));
  let running = null; // { file, number }: the file on its way

  function say(text, refused = false) {
    parts.says.textContent = text;
    parts.says.classList.toggle("ow-upload-refused", refused);
  }

  // What has the focus must not vanish with it.
  function setBusy(busy) {
    const focused = [parts.choose, parts.cancel].includes(document.activeElement);
    parts.row.hidden = !busy;
    parts.choose.disabled = busy;
    el.classList.toggle("ow-upload-busy", busy);
    if (focused) (busy ? parts.cancel : parts.choose).focus();
  }

  function showShare(stored) {
    const { file } = running;
    parts.bar.value = file.size ? stored / file.size : 1;
    const percent = Math.floor(100 * parts.bar.value);
    parts.far.textContent =
      `${megabytes(stored)} of ${megabytes(file.size)}\u00a0MB, ${percent}\u00a0%`;
  }

  function showReading() {
    parts.bar.removeAttribute("value");
    parts.far.textContent = "All there. It is being read.";
    if (document.activeElement === parts.cancel) parts.bar.focus();
    parts.cancel.hidden = true; // the kernel would hear it too late
  }

  function begin(file) {
    const largest = model.get("largest_bytes");
    if (file.size > largest) {
      const least = `${megabytes(file.size)}\u00a0MB; at most ${megabytes(largest)}\u00a0MB`;
      say(
        `${file.name} has ${least} can be uploaded. Nothing was sent. Shorten it, or leave out ` +
          "columns that are not needed.",
        true,
      );
      return;
    }
    running = { file, number: crypto.getRandomValues(new Uint32Array(4)).join("-") };
    say("");
    parts.bar.setAttribute("aria-label", `Upload of ${file.name}`);
    parts.cancel.hidden = false;
    setBusy(true);
    showShare(0);
    send("begin", { name: file.name, size: file.size });
  }

  function send(step, more = {}, slices = []) {
    model.send({ step, number: running.number, ...more }, undefined, slices);
  }

  async function sendSlice(start) {
    const { file, number } = running;
    const end = Math.min(start + model.get("slice_bytes"), file.size);
    let slice = null;
    try {
      slice = await file.slice(start, end).arrayBuffer();
    } catch {
      // told below: removed, changed or locked since it was chosen
    }
    if (running?.number !== number) return;
    if (slice?.byteLength !== end - start) {
      stop(`${file.name} could not be read to its end. Has it changed? Choose it again.`, true);
      return;
    }
    send("slice", { start }, [slice]);
    if (end === file.size) showReading();
  }

  function stop(text, refused) {
    send("cancel");
    finish(text, refused);
  }

  function finish(text, refused = false) {
    running = null;
    setBusy(false);
    say(text, refused);
  }

  function hear({ answer, number, stored }) {
    if (running?.number !== number) return;
    const { name } = running.file;
    if (answer === "next") {
      showShare(stored);
      sendSlice(stored);
    } else if (answer === "done") {
      finish("");
    } else if (answer === "dropped") {
      finish(`${name} was left, since another file was begun.`, true);
    } else {
      finish(`${name} was not taken. The message above tells why.`, true);
    }
  }

  parts.choose.addEventListener("click", () => parts.input.click());
  parts.input.addEventListener("change", () => {
    const [file] = parts.input.files;
    if (file && !running) begin(file);
    parts.input.value = ""; // so that the same file can be chosen again
  });
  parts.cancel.addEventListener("click", () =>
    stop(`${running.file.name} was not uploaded. What is shown stays.`, false),
  );
  model.on("msg:custom", hear);
  el.classList.add("ow-upload");
  el.append(parts.choose, parts.input, parts.row, parts.says);

  return () => {
    model.off("msg:custom", hear);
    if (running) send("cancel");
  };
}

export default { render };
