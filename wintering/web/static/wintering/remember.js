// A form marked data-remember survives a reload by mistake: what was tapped is kept in
// the browser until the page that follows it says, by data-forget, that it was saved.
const form = document.querySelector("form[data-remember]");
const saved = document.querySelector("[data-forget]");
const skipped = new Set(["csrfmiddlewaretoken", "draft", "at"]);

const fields = () =>
  [...form.elements].filter(
    (field) => field.name && field.type !== "submit" && !skipped.has(field.name)
  );

const tapped = () => {
  const kept = {};
  for (const field of fields()) {
    if (field.type === "radio" || field.type === "checkbox") {
      if (field.checked) kept[`${field.name}=${field.value}`] = true;
    } else if (field.value) kept[field.name] = field.value;
  }
  return kept;
};

const restore = (kept) => {
  for (const field of fields()) {
    if (field.type === "radio" || field.type === "checkbox") {
      field.checked = Boolean(kept[`${field.name}=${field.value}`]);
    } else if (kept[field.name]) {
      field.value = kept[field.name];
      field.closest("details")?.setAttribute("open", "");
    }
  }
};

if (saved) localStorage.removeItem(saved.dataset.forget);
if (form) {
  const key = form.dataset.remember;
  const kept = localStorage.getItem(key);
  // A form that came back refused holds what was sent: it needs no restoring.
  if (kept && !form.querySelector(".errors")) restore(JSON.parse(kept));
  form.addEventListener("input", () => localStorage.setItem(key, JSON.stringify(tapped())));
}
