// A choice in a filter takes effect at once; without script its button does the same.
for (const form of document.querySelectorAll("form.filters")) {
  form.addEventListener("change", (event) => {
    if (event.target.matches("select, input[type=radio]")) form.requestSubmit();
  });
  // Questions that were not answered stay out of the address.
  form.addEventListener("submit", () => {
    for (const field of form.querySelectorAll("select, input")) {
      if (field.value === "") field.disabled = true;
    }
  });
}
