// Choosing on the plan without losing the page: a free module's link is followed in
// place, with what was already typed, and the finger or key stays where it was.
const typed = () => {
  const form = document.getElementById("place");
  return form ? [["on", form.elements.on.value], ["reason", form.elements.reason.value]] : [];
};

// Looking by label or from the list takes along what was typed above.
document.addEventListener("submit", (event) => {
  if (event.target.method !== "get") return;
  for (const [name, text] of typed())
    if (event.target.elements[name]) event.target.elements[name].value = text;
});

document.addEventListener("click", (event) => {
  const link = event.target.closest("#plan a[href^='?']");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const here = link.getAttribute("aria-label");
  const address = new URL(link.getAttribute("href"), window.location.href);
  for (const [name, text] of typed()) if (text) address.searchParams.set(name, text);
  address.hash = "";
  window.htmx
    .ajax("GET", address.href, { target: "#main", select: "#main", swap: "outerHTML show:none" })
    .then(() => {
      window.history.replaceState(null, "", address.href);
      const same = [...document.querySelectorAll("#plan a")].find(
        (one) => one.getAttribute("aria-label") === here && one.getClientRects().length
      );
      if (same) same.focus({ preventScroll: true });
    });
});
