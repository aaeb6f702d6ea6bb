/** The first page: begin a board. */
import { post, tell } from "./outbox.js";
import { t } from "./words.js";

const taken = () => [...document.querySelectorAll(".boards b")].map((one) => one.textContent);

function free(name) {
  const there = taken();
  if (!there.includes(name)) return name;
  let k = 2;
  while (there.includes(`${name} ${k}`)) k += 1;
  return `${name} ${k}`;
}

async function begin(body, page) {
  try {
    const made = await post("/api/boards", body);
    location.assign(page ? made.go.replace(/\/parts$/, page) : made.go);
  } catch (error) {
    tell(error.message);
  }
}

const WAYS = {
  part: () => begin({ name: free(t("start.bench_name")) }, "/reading"),
  board: () => begin({ name: free(t("start.board_name")) }, "/sketch"),
  demo: () => begin({ name: free(t("start.demo_name")), demo: true }),
};

for (const button of document.querySelectorAll("[data-begin]")) {
  button.addEventListener("click", WAYS[button.dataset.begin]);
}

const form = document.getElementById("sheet-form");
form.addEventListener("submit", (event) => {
  event.preventDefault();
  begin({ name: form.elements.name.value.trim(), sheet: form.elements.sheet.value });
});
form.elements.file.addEventListener("change", async () => {
  const file = form.elements.file.files[0];
  if (!file) return;
  form.elements.sheet.value = await file.text();
  if (!form.elements.name.value) form.elements.name.value = file.name.replace(/\.toml$/, "");
});
