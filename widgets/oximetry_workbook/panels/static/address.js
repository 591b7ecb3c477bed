// Tells the kernel what follows the # of the page's address, and keeps on the page how to come
// back to the panel's present state.

function tell(model) {
  model.set("page", location.pathname.includes("/voila/") ? location.origin + location.pathname : "");
  model.set("fragment", location.hash.slice(1));
  model.save_changes();
}

function render({ model, el }) {
  el.hidden = true;
  const keep = () => { el.dataset.owState = model.get("state"); };
  const told = () => tell(model);
  model.on("change:state", keep);
  window.addEventListener("hashchange", told);
  keep();
  told();
  return () => {
    model.off("change:state", keep);
    window.removeEventListener("hashchange", told);
  };
}

export default { render };
