// A rhythm for each outcome, heard and seen. Rule: the rhythm alone tells the outcome, pitch and colour only help.
// No rhythm flashes more than three times in any second (WCAG 2.3.1): a flash and its pause last 400 ms or more.
const TICK = 60;
const SHORT = 200;
const LONG = 600;
const PAUSE = 200;
const LOUD = 0.5;

// Each beat: pitch in hertz, length in milliseconds. High and few is good, low and many is bad.
// A beat of the countdown is a tick, alone, every half second.
export const RHYTHMS = {
  "beat": [[1319, TICK]],
  "keep": [[784, SHORT], [1047, LONG]],
  "light duty": [[784, LONG], [659, SHORT]],
  "look again": [[659, SHORT], [659, LONG], [659, SHORT]],
  "scrap": [[294, SHORT], [294, SHORT], [294, SHORT], [294, SHORT]],
  "void": [[392, LONG], [523, SHORT], [392, LONG]],
  "undone": [[523, SHORT], [523, SHORT], [392, LONG]],
  "well": [[1047, SHORT], [1047, SHORT]],
  "question": [[523, LONG], [784, LONG]],
  "on": [[1047, SHORT]],
  "off": [[392, SHORT], [392, SHORT]],
  "between": [[659, LONG]],
  "loss": [[294, SHORT], [294, SHORT], [294, SHORT]],
  "stopped": [[392, LONG], [294, LONG], [392, LONG], [294, LONG], [392, LONG]],
};

let context = null;
let lastMoment = "";
let running = 0;
let flashing = Promise.resolve();

export function toggleSound() {
  if (context) {
    context.close();
    context = null;
  } else {
    context = new AudioContext();
    context.resume();
    tone(880, 0, SHORT);
  }
  document.getElementById("sound").setAttribute("aria-pressed", String(context !== null));
  document.getElementById("sound-state").textContent = context ? "is on" : "is off";
}

// Phones suspend sound while they sleep.
export function wake() {
  context?.resume();
}

export function heed(cue, moment, silently) {
  const again = moment === lastMoment;
  lastMoment = moment;
  if (again || silently || !cue) return;
  const beats = RHYTHMS[cue];
  if (context) sound(beats);
  const mine = (running += 1);
  flashing = flashing.then(() => flash(beats, mine)); // the last flash keeps its pause
}

function sound(beats) {
  let at = 0;
  for (const [hertz, length] of beats) {
    tone(hertz, at, length);
    at += length + PAUSE;
  }
}

function tone(hertz, at, length) {
  const start = context.currentTime + at / 1000;
  const end = start + length / 1000;
  const voice = context.createOscillator();
  const gain = context.createGain();
  voice.type = "triangle";
  voice.frequency.value = hertz;
  gain.gain.setValueAtTime(0, start);
  gain.gain.linearRampToValueAtTime(LOUD, start + 0.01);
  gain.gain.setValueAtTime(LOUD, end - 0.02);
  gain.gain.linearRampToValueAtTime(0, end);
  voice.connect(gain).connect(context.destination);
  voice.start(start);
  voice.stop(end);
}

// With reduced motion one steady frame stands for the whole rhythm.
async function flash(beats, mine) {
  const frame = document.getElementById("flash");
  const steady = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const whole = beats.reduce((sum, [, length]) => sum + length + PAUSE, -PAUSE);
  for (const [, length] of steady ? [[0, whole]] : beats) {
    if (mine !== running) return; // a newer outcome has taken over
    frame.classList.add("on");
    await new Promise((done) => setTimeout(done, Math.max(length, SHORT)));
    frame.classList.remove("on");
    await new Promise((done) => setTimeout(done, PAUSE));
  }
}
