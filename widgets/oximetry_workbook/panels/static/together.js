// Takes the changes of many widgets out of one message, and hands each widget its own.

function initialize({ model }) {
  const manager = model.widget_manager;
  let before = Promise.resolve();

  const hand = async ({ id, data }, buffers) => {
    const widget = await manager.get_model(id);
    await widget._handle_comm_msg({ content: { comm_id: id, data }, buffers });
  };

  // One after the other: a box must have its new children before what comes after they came.
  const spread = (changes, buffers) => {
    let begin = 0;
    for (const change of changes) {
      const own = buffers.slice(begin, (begin += change.data.buffer_paths.length));
      before = before
        .then(() => hand(change, own))
        // a widget that was closed meanwhile has nothing to draw any more
        .catch((error) => console.warn(error));
    }
  };

  model.on("msg:custom", spread);
  model.set("ready", true);
  model.save_changes();
  return () => model.off("msg:custom", spread);
}

export default { initialize };
