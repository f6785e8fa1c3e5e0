// On paper the whole answer stands: what is folded away on the screen opens for it.
{
  const folds = () => document.querySelectorAll("#answer details");
  let opened = [];
  window.addEventListener("beforeprint", () => {
    opened = [...folds()].filter((fold) => !fold.open);
    for (const fold of opened) fold.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const fold of opened) fold.open = false;
  });
}
