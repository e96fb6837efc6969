// Buttons, the one key, and the dialogs. Rule: a press counts for what its person saw, or not at all.
import { isLive, shown } from "/page.js";
import { toggleSound } from "/sound.js";

const JUST_CHANGED_MS = 200; // faster than anybody sees and presses: the press was meant for the screen before

const byId = (id) => document.getElementById(id);
const say = (text) => { byId("said").textContent = text; };
let dialogVersion = 0;

async function post(path, body) {
  try {
    const answer = await fetch(path, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body,
      signal: AbortSignal.timeout(3000),
    });
    return { ok: answer.ok, text: await answer.text() };
  } catch {
    return { ok: false, text: "The bench did not answer. Look whether it was done before you press again." };
  }
}

async function send(control, text, seen) {
  if (!isLive()) {
    say("Not sent: this screen has no contact with the bench.");
    return false;
  }
  const answer = await post("/press", JSON.stringify({ control, text, seen }));
  say(answer.text);
  return answer.ok;
}

function open(dialog) {
  dialogVersion = shown.version;
  dialog.showModal();
}

function press(control, { text = "", atOnce } = {}) {
  const dialog = byId(control); // note, rating and end ask first
  if (dialog instanceof HTMLDialogElement && atOnce === undefined) open(dialog);
  else if (control !== "end" && Date.now() - shown.changedAt < JUST_CHANGED_MS) say("The screen had just changed. Look, then press again.");
  else send(control, text, shown.version);
}

async function pair() {
  const answer = await post("/pair", byId("code").value);
  if (answer.ok) location.reload();
  else byId("pair-said").textContent = answer.text;
}

document.addEventListener("click", (event) => {
  const button = event.target.closest?.("button");
  if (!button) return;
  if (button.dataset.control) press(button.dataset.control, button.dataset);
  else if (button.id === "sound") toggleSound();
  else if (button.id === "pair-open") open(byId("pair"));
  else if (button.id === "end-sure") { byId("end").close(); send("end", "", 0); }
  else if (button.dataset.rating) { byId("rating").close(); send("rating", button.dataset.rating, dialogVersion); }
  else if ("close" in button.dataset) button.closest("dialog").close();
  if (!button.closest("dialog") && !document.querySelector("dialog[open]")) leave(button);
});

// The foot switch types a space: it must never fall on the button that was touched last.
function leave(button) {
  if (button.dataset.control !== "go") (byId("press-go") ?? button).focus({ preventScroll: true });
  if (!byId("press-go")) button.blur();
}

document.addEventListener("keydown", (event) => {
  if (event.key !== " " || document.querySelector("dialog[open]")) return;
  const on = document.activeElement;
  const chosen = on instanceof HTMLElement && on.matches("button, summary") && on.id !== "press-go";
  if (chosen && on.matches(":focus-visible")) return; // somebody went there by keyboard, and means it
  if (!byId("press-go")) return;
  event.preventDefault();
  if (!event.repeat) press("go");
});

byId("pair")?.querySelector("form").addEventListener("submit", (event) => { event.preventDefault(); pair(); });
byId("note")?.querySelector("form").addEventListener("submit", async () => {
  const kept = await send("note", byId("note-text").value.trim(), dialogVersion);
  if (kept) byId("note-text").value = ""; // a refused one stays, to be sent again
});
