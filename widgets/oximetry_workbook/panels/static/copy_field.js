// A line of text with a button that copies it.

const SAID_MS = 2000;

async function copy(field) {
  try {
    await navigator.clipboard.writeText(field.value);
    return "Copied";
  } catch { // no clipboard on pages without https, but for this machine's own
    field.select();
    return document.execCommand("copy") ? "Copied" : "Press Ctrl-C";
  }
}

function render({ model, el }) {
  const label = document.createElement("label");
  const field = document.createElement("input");
  const button = document.createElement("button");
  el.classList.add("ow-copy-field");
  label.textContent = model.get("label");
  label.append(field);
  field.type = "text";
  field.readOnly = true;
  button.type = "button";
  button.className = "jupyter-button";
  button.textContent = "Copy";
  button.setAttribute("aria-live", "polite");
  button.setAttribute("aria-label", `Copy: ${model.get("label")}`);
  const show = () => { field.value = model.get("text"); };
  field.addEventListener("focus", () => field.select());
  button.addEventListener("click", async () => {
    button.textContent = await copy(field);
    setTimeout(() => { button.textContent = "Copy"; }, SAID_MS);
  });
  model.on("change:text", show);
  show();
  el.append(label, button);
  return () => model.off("change:text", show);
}

export default { render };
