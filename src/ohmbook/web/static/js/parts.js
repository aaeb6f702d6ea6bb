/** The parts of a board. */
import { follow } from "./fill.js";
import { post, tell } from "./outbox.js";
import { api, byKind, onFix, onSend, said, tellFromBefore } from "./partform.js";

const by = (id) => document.getElementById(id);
const body = by("body");

const add = by("add-form");
byKind(add);
onSend(add, async () => {
  const { name, kind } = add.elements;
  await post(api("parts"), { name: name.value.trim(), kind: kind.value, said: said(add), base: 0 });
  add.reset();
  byKind(add);
  by("add").open = false;
});

const bring = by("bring-form");
if (bring) {
  onSend(bring, async () => {
    const { name, as_name: as } = bring.elements;
    await post(api("parts/bring"), { name: name.value, as_name: as.value.trim() });
    bring.reset();
  });
}

onFix();
tellFromBefore();
follow([body, by("next")], () => body.querySelector("[data-pending=yes]") !== null, (error) => tell(error.message));
