// Takes views from the bench and shows the newest. Rule: what is old is covered and says so, within three seconds;
// only a crate's last word stays, once the bench has said that it was the last.
import { heed, wake } from "/sound.js";

const STALE_MS = 2500; // the bench beats every second; a view may ask for less
const TRY_MS = 2000;
const WATCH_MS = 100;

export const shown = { version: 0, changedAt: 0 };
let final = false; // nothing can follow this view but another start
let over = false;
let source = null;
let heardAt = 0;
let staleMs = STALE_MS;
let triedAt = 0;

const byId = (id) => document.getElementById(id);
export const isLive = () => document.body.dataset.state === "live";

function connect() {
  source?.close();
  triedAt = Date.now();
  let first = true;
  source = new EventSource("/events");
  source.addEventListener("beat", () => { if (staleMs === STALE_MS) heard(); }); // else only a view is news
  source.addEventListener("end", end);
  source.addEventListener("view", (event) => {
    const view = JSON.parse(event.data);
    show(view);
    heed(view.cue, view.moment, first); // what came while nobody watched is seen, not sounded
    first = false;
    heard();
  });
}

function heard() {
  heardAt = Date.now();
  if (over) tell(byId("said"), "");
  over = false;
  if (shown.version && !document.hidden) document.body.dataset.state = "live";
}

function end() {
  over = final;
  if (over) tell(byId("said"), `pulldrop has ended. This is its last word, of ${at(heardAt)}.`);
}

function show(view) {
  const fresh = document.createElement("template");
  fresh.innerHTML = view.html;
  for (const part of fresh.content.querySelectorAll("[data-part]")) renew(part);
  shown.version = view.version;
  final = view.final;
  staleMs = view.stale_ms ?? STALE_MS;
  document.title = view.title;
  tell(byId("heard"), `${byId("verdict").innerText.replace(/\s+/g, " ")}. ${byId("sentence").innerText}`);
}

function renew(part) {
  const old = byId(part.id);
  if (!old || old.outerHTML === part.outerHTML) return;
  const focused = old.contains(document.activeElement) ? document.activeElement.id : "";
  old.replaceWith(part);
  if (focused) byId(focused)?.focus();
  if (part.id === "verdict" || part.id === "go") shown.changedAt = Date.now();
}

function tell(element, text) {
  if (element.textContent !== text) element.textContent = text; // said aloud once, not with every event
}

function silentMs() {
  const silent = Date.now() - heardAt;
  return silent < 0 ? Infinity : silent; // the clock was set back
}

const at = (moment) => new Date(moment).toLocaleTimeString("en-GB");

function cover() {
  if (over) return;
  document.body.dataset.state = "stale";
  tell(byId("silent-word"), "Stale");
  tell(byId("silent-sentence"), `Last word from the bench at ${at(heardAt)}.
    This screen reconnects by itself. If it does not, see whether pulldrop runs and the network reaches it.`);
}

function watch() {
  if (silentMs() <= staleMs) return;
  if (isLive()) cover();
  if (Math.abs(Date.now() - triedAt) > TRY_MS) connect();
}

// A screen that goes to sleep is covered first, so that on waking nobody sees a verdict of an hour ago.
document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    if (isLive()) cover();
  } else {
    wake();
    if (silentMs() > STALE_MS) connect();
    else heard();
  }
});
addEventListener("pageshow", (event) => { if (event.persisted) connect(); });

connect();
setInterval(watch, WATCH_MS);
