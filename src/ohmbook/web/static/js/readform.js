// @ts-check
/** The reading form's controls as one reading in a sheet's plain values, and back. */

const form = /** @type {HTMLFormElement} */ (document.getElementById("form"));

/** All controls of a name. @param {string} name @returns {any[]} */
export function controls(name) {
  return [...form.elements].filter((one) => /** @type {any} */ (one).name === name);
}

/** @param {string} name @returns {any} */
export function control(name) {
  return controls(name)[0] ?? null;
}

/** Which way is chosen. */
export function way() {
  const chosen = controls("way").find((one) => one.checked);
  return chosen ? Number(chosen.value) : 0;
}

/** Whether a field belongs to the chosen way. @param {{way: number|null}} field */
export function applies(field) {
  return field.way === null || field.way === way();
}

/** Everything that stands in the form, for a draft. */
export function snapshot() {
  const found = {};
  for (const one of /** @type {any[]} */ ([...form.elements])) {
    if (!one.name) continue;
    if (one.type === "radio" || one.type === "checkbox") {
      found[one.name] ??= [];
      if (one.checked) found[one.name].push(one.value);
    } else found[one.name] = one.tagName === "SELECT" && isNew(one) ? { new: newKind(one) } : one.value;
  }
  return found;
}

/** Put a draft back. @param {Record<string, any>} kept */
export function restore(kept) {
  for (const one of /** @type {any[]} */ ([...form.elements])) {
    if (!one.name || !(one.name in kept)) continue;
    const value = kept[one.name];
    if (one.type === "radio" || one.type === "checkbox") one.checked = value.includes(one.value);
    else if (one.tagName === "SELECT") choose(one, value);
    else one.value = value;
  }
}

function choose(select, value) {
  if (value && "new" in Object(value)) {
    select.selectedIndex = [...select.options].findIndex((one) => one.dataset.new === value.new);
  }
  else if ([...select.options].some((one) => one.value === value)) select.value = value;
}

/** Whether a choice stands at "a new one". @param {any} select */
export function isNew(select) {
  return Boolean(select?.selectedOptions?.[0] && "new" in select.selectedOptions[0].dataset);
}

/** Of which kind the new one is. @param {any} select @returns {string} */
function newKind(select) {
  return select.selectedOptions[0].dataset.new;
}

/** Fill in a field. @param {any} field @param {any} value */
export function fill(field, value) {
  const name = `f.${field.name}`;
  const put = (where, text) => {
    const one = control(where);
    if (one) one.value = text;
  };
  if (field.what === "choice") for (const one of controls(name)) one.checked = JSON.parse(one.value) === value;
  else if (field.what === "yes") for (const one of controls(name)) one.checked = value === true;
  else if (field.what === "names") for (const one of controls(name)) one.checked = value.includes(one.value);
  else if (field.what === "amounts") for (const [key, text] of Object.entries(value)) put(`${name}.${key}`, text);
  else if (field.what === "pairs") {
    for (const [key, ends] of Object.entries(value)) ends.forEach((end, k) => put(`${name}.${key}.${k}`, end));
  } else if (field.what === "pair" || field.what === "place") {
    [value].flat().forEach((end, k) => put(`${name}.${k}`, end));
  } else if (field.what !== "table") {
    const one = control(name);
    if (one?.tagName === "SELECT") choose(one, value);
    else if (one) one.value = value;
  }
}

const READ = {
  choice: (name, field) => {
    const one = controls(name).find((each) => each.checked);
    if (!one || ("usual" in one.dataset && !field.required)) return undefined;
    return JSON.parse(one.value);
  },
  yes: (name) => (controls(name).some((one) => one.checked) ? true : undefined),
  names: (name) => {
    const found = controls(name).filter((one) => one.checked).map((one) => one.value);
    return found.length ? found : undefined;
  },
  amounts: (name) => under(name, (one) => one.value.trim()),
  pairs: (name) => {
    const ends = under(name, (one) => one.value) ?? {};
    const found = {};
    for (const key of Object.keys(ends)) {
      const [part, place] = [key.slice(0, -2), key.slice(-2)];
      if (place === ".0" && ends[`${part}.1`]) found[part] = [ends[key], ends[`${part}.1`]];
    }
    return Object.keys(found).length ? found : undefined;
  },
  pair: (name) => {
    const [a, b] = [control(`${name}.0`)?.value, control(`${name}.1`)?.value];
    return a && b ? [a, b] : undefined;
  },
  place: (name) => {
    const [a, b] = [control(`${name}.0`)?.value, control(`${name}.1`)?.value];
    return a && b ? [a, b] : a || undefined;
  },
};

function under(name, read) {
  const found = {};
  for (const one of /** @type {any[]} */ ([...form.elements])) {
    if (one.name?.startsWith(`${name}.`) && read(one)) found[one.name.slice(name.length + 1)] = read(one);
  }
  return Object.keys(found).length ? found : undefined;
}

/**
 * The reading as it stands in the form, and what is to be written beside it.
 * @param {any} data what the page began with
 * @param {Record<string, () => string|undefined>} tables each table's text
 */
export function typed(data, tables) {
  const reading = { kind: data.form.kind };
  const beside = {};
  if (data.named) reading.name = data.named;
  for (const field of data.form.fields) {
    if (!applies(field)) continue;
    const name = `f.${field.name}`;
    const value =
      field.what === "table"
        ? tables[field.name]?.()
        : field.noun === "source" || field.noun === "instrument"
          ? thing(data, field.noun, beside)
          : READ[field.what]
            ? READ[field.what](name, field)
            : field.noun === "part" && field.what === "name"
              ? part(name, beside)
              : control(name)?.value.trim() || undefined;
    if (value !== undefined) reading[field.name] = value;
  }
  return { reading, beside };
}

function part(name, beside) {
  const select = control(name);
  if (!isNew(select)) return select?.value || undefined;
  const called = control("p.name").value.trim();
  if (!called) return undefined;
  const kind = controls("p.kind").find((one) => one.checked)?.value;
  const made = { kind };
  for (const one of form.querySelectorAll("#new-part input[type=text]")) {
    const key = /** @type {HTMLInputElement} */ (one).name.slice(2);
    const mine = /** @type {HTMLElement} */ (one.closest("[data-part-kind]"))?.dataset.partKind ?? kind;
    const text = /** @type {HTMLInputElement} */ (one).value.trim();
    if (key !== "name" && mine === kind && text) made[key] = text;
  }
  beside.parts = { [called]: made };
  return called;
}

function thing(data, noun, beside) {
  const select = control(`f.${noun}`);
  if (!select) return undefined;
  const section = noun === "source" ? "sources" : "instruments";
  const fresh = isNew(select);
  const name = fresh ? control(`n.${noun}.${newKind(select)}.name`).value.trim() : select.value;
  if (!name) return undefined;
  const there = data.things.find((one) => one.section === section && one.name === name);
  const made = edited(fresh ? `n.${noun}.${newKind(select)}` : `t.${section}.${name}`, there);
  if (fresh || there?.new || different(made, there?.raw ?? {})) beside[section] = { [name]: made };
  return name;
}

/** What stands in the fields of a source or an instrument. */
function edited(name, there) {
  const found = {};
  const first = control(`${name}.like`);
  const kind = first?.closest(".edit-fields")?.dataset.kind;
  if (kind && kind !== "source") found.kind = kind;
  for (const one of /** @type {any[]} */ ([...form.elements])) {
    const key = one.name?.startsWith(`${name}.`) ? one.name.slice(name.length + 1) : "";
    if (!key || key === "name" || !one.value.trim()) continue;
    found[key] = "yes" in one.dataset ? one.value === "true" : one.value.trim();
  }
  return { ...(there && !first ? there.raw : {}), ...found };
}

function different(a, b) {
  const sorted = (one) => JSON.stringify(Object.entries(one).sort(([x], [y]) => (x < y ? -1 : 1)));
  return sorted(a) !== sorted(b);
}

/** Show what belongs to the choices made: the way's fields, the new part, the thing's own values. */
export function arrange() {
  for (const one of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll("[data-way]"))) {
    one.hidden = one.dataset.way !== "" && Number(one.dataset.way) !== way();
  }
  const chosen = form.querySelector("select[data-part]");
  const fresh = document.getElementById("new-part");
  if (fresh) fresh.hidden = !isNew(chosen);
  const kind = controls("p.kind").find((one) => one.checked)?.value;
  for (const one of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll("[data-part-kind]"))) {
    one.hidden = one.dataset.partKind !== kind;
  }
  for (const box of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll(".thing"))) {
    const select = /** @type {HTMLSelectElement} */ (box.querySelector("select"));
    for (const one of /** @type {NodeListOf<HTMLDetailsElement>} */ (box.querySelectorAll("details"))) {
      const fresh = isNew(select);
      one.hidden = fresh ? one.dataset.newKind !== newKind(select) : one.dataset.thing !== select.value;
      if (fresh && !one.hidden) one.open = true;
    }
  }
}
