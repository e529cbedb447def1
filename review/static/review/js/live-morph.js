// Making a part of the page what the server says now, without touching what is the same: so the focus, the scroll,
// what is open, and whatever somebody is typing stay.

const KEYS = ["data-key", "data-card", "data-select"]; // what tells a row from its neighbours, beside its id
const OWN = new Set(["OPEN"]); // attributes that the person at the page sets, not the server
const TYPED = "input, select, textarea";

/** Make the element `old` what `fresh` is, child by child. Returns how many elements changed. */
export function morph(old, fresh) {
  return attributes(old, fresh) + children(old, fresh);
}

function attributes(old, fresh) {
  let many = 0;
  for (const { name, value } of fresh.attributes) {
    if (old.getAttribute(name) === value || OWN.has(name.toUpperCase())) continue;
    old.setAttribute(name, value);
    many = 1;
  }
  for (const { name } of [...old.attributes]) {
    if (fresh.hasAttribute(name) || OWN.has(name.toUpperCase())) continue;
    old.removeAttribute(name);
    many = 1;
  }
  return many;
}

function children(old, fresh) {
  let [many, place] = [0, old.firstChild];
  const keyed = new Map([...old.children].map((child) => [keyOf(child), child]).filter(([key]) => key));
  for (const wanted of [...fresh.childNodes]) {
    const found = match(place, wanted, keyed);
    if (!found) {
      old.insertBefore(document.importNode(wanted, true), place);
      many += 1;
      continue;
    }
    if (found === place) place = place.nextSibling;
    else old.insertBefore(found, place);
    many += found.nodeType === Node.ELEMENT_NODE ? element(found, wanted) : text(found, wanted);
  }
  while (place) {
    const next = place.nextSibling;
    place.remove();
    many += 1;
    place = next;
  }
  return many;
}

// The node that is to become `wanted`: the one with its key wherever it is, or the one at its place if it is alike.
function match(place, wanted, keyed) {
  const key = wanted.nodeType === Node.ELEMENT_NODE ? keyOf(wanted) : null;
  if (key) return keyed.get(key) ?? null;
  if (!place || place.nodeType !== wanted.nodeType || place.nodeName !== wanted.nodeName) return null;
  return place.nodeType === Node.ELEMENT_NODE && keyOf(place) ? null : place;
}

function keyOf(element) {
  const name = KEYS.find((each) => element.hasAttribute(each));
  const key = name ? element.getAttribute(name) : element.id;
  return key ? `${element.nodeName} ${key}` : null;
}

function element(old, fresh) {
  if (old.matches("[data-mine], [data-progress]")) return 0; // a script of the page writes it
  if (old.matches("input[type=hidden]")) return attributes(old, fresh) && 0; // the form's token is another each time
  if (old.matches(TYPED)) return touched(old) ? 0 : morph(old, fresh);
  return morph(old, fresh);
}

// Whether somebody is typing or choosing there, or has.
function touched(field) {
  if (field === document.activeElement) return true;
  if (field.nodeName === "SELECT") return [...field.options].some((each) => each.selected !== each.defaultSelected && each.index);
  return field.type === "checkbox" || field.type === "radio" ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
}

function text(old, fresh) {
  if (old.data === fresh.data) return 0;
  old.data = fresh.data;
  return 1;
}
