// The filters: what is chosen is looked for at once, several tags are typed with commas, and the address stays short.

/** Bind the search form; `names` are the production's tags. */
export function bindFilters(form, names) {
  form.addEventListener("change", ({ target }) => target.matches("select, [type=checkbox]") && form.requestSubmit());
  form.addEventListener("submit", () => {
    for (const field of form.elements) if (field.name && field.name !== "production" && !field.value) field.disabled = true;
  });
  addEventListener("pageshow", () => {
    for (const field of form.elements) field.disabled = false;
  });
  for (const field of form.querySelectorAll(".tags")) field.addEventListener("input", () => offer(field, names));
  offer({ value: "" }, names);
}

// The words offered go on from the tags that are there already.
function offer({ value }, names) {
  const before = value.includes(",") ? `${value.slice(0, value.lastIndexOf(",") + 1)} `.replace(/ +$/, " ") : "";
  const list = document.getElementById("tag-names");
  list.replaceChildren(...names.map((name) => Object.assign(document.createElement("option"), { value: before + name })));
}
