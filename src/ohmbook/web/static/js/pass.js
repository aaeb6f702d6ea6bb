/** Where a device shows the pass: typed, or brought along behind the address's # by the code. */
const form = document.getElementById("gate");
const word = document.getElementById("word");
const fault = document.getElementById("fault");

async function enter() {
  fault.textContent = "";
  try {
    const answer = await fetch("/api/network/enter", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ word: word.value }),
    });
    if (answer.ok) location.reload();
    else fault.textContent = (await answer.json()).told;
  } catch {
    fault.textContent = form.dataset.away;
  }
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  enter();
});
if (location.hash.length > 1) {
  word.value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname + location.search);
  enter();
} else {
  word.focus();
}
