// A text that this browser keeps, from page to page and over a reload.

function kept(key) {
  try { return localStorage.getItem(key) || ""; } catch { return ""; }
}

function render({ model, el }) {
  el.hidden = true;
  const key = model.get("key");
  const keep = () => {
    try { localStorage.setItem(key, model.get("text")); } catch { /* lasts as long as the page */ }
  };
  model.on("change:text", keep);
  model.set("found", kept(key));
  model.save_changes();
  return () => model.off("change:text", keep);
}

export default { render };
