/* The page of the field: shows at once what the phone holds, then asks the book for news.

   Only what the list of stops and the head of a stop are made of is read before they are drawn; the
   form and the other pages are read right after that, each by its own script. */

import { dayPage } from "./day.js";
import { button, h, p, painted } from "./elements.js";
import { footOf } from "./foot.js";
import { changed, onChange, phone, ready, setThings } from "./phone.js";
import { readWork, stopPage } from "./stop.js";
import { LANGUAGES, language, t } from "./words.js";

const SCRIPTS = {
  unplanned: async () => (await import("./unplanned.js")).unplannedPage,
  note: async () => (await import("./note.js")).notePage,
  unsent: async () => (await import("./unsent.js")).unsentPage,
  amend: async () => (await import("./putting_right.js")).changePage,
};
const pages = new Map([["stop", stopPage]]);

let shown = null;
let foot = null;

const otherLanguage = () => (language() === "en" ? "es" : "en");
const isDark = () =>
  phone.settings.light ? phone.settings.light === "dusk" : matchMedia("(prefers-color-scheme: dark)").matches;

const setting = (fields) => async () => {
  phone.settings = { ...phone.settings, ...fields() };
  draw();
  await setThings({ settings: phone.settings });
};

const bar = () =>
  h("nav", { class: "bar", "aria-label": t("settings") },
    button(LANGUAGES[otherLanguage()], setting(() => ({ language: otherLanguage() })), { lang: otherLanguage(), id: "language" }),
    button(t(isDark() ? "light_day" : "light_dusk"), setting(() => ({ light: isDark() ? "day" : "dusk" })), { id: "light" }));

const place = () => location.hash.replace(/^#\/?/, "").split("/");

/** Reads the script of a page, once. */
const readPage = async (name) => {
  if (name in SCRIPTS && !pages.has(name)) pages.set(name, await SCRIPTS[name]());
};

const route = () => {
  const [name, ...rest] = place();
  return (pages.get(name) ?? dayPage)(...rest);
};

/** Draws the page anew; what was typed is in the store. */
const draw = () => {
  document.documentElement.lang = language();
  if (phone.settings.light) document.documentElement.dataset.light = phone.settings.light;
  document.title = t("field");
  shown = route();
  foot = footOf();
  document.body.replaceChildren(h("a", { class: "skip", href: "#main" }, t("to_the_text")), bar(), shown, foot);
};

const goOn = async () => {
  await readPage(place()[0]);
  draw();
  scrollTo(0, 0);
  shown.focus({ preventScroll: true });
};

/** A page with a form is left alone while a person works in it, until its form is kept. */
const refresh = () => {
  foot?.draw();
  if (!shown || (shown.isForm && !isKeptNow())) return;
  const at = scrollY;
  const before = document.activeElement?.id;
  draw();
  scrollTo(0, at);
  if (before) document.getElementById(before)?.focus({ preventScroll: true });
};

const isKeptNow = () => {
  const [name, first] = place();
  if (name === "unplanned" || name === "note") return Boolean(phone.drafts.get(first)?.kept);
  return name === "stop" && [...phone.drafts.values()].some(({ visit, kept }) => kept && String(visit) === first);
};

const register = async () => {
  if (!("serviceWorker" in navigator)) return;
  const had = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    phone.isNewer = had;
    changed();
  });
  await navigator.serviceWorker.register("/field/worker.js", { scope: "/field/", updateViaCache: "none" });
};

/** Asks once that the browser keep what is here, and remembers the answer to show it. */
const askToKeep = async () => {
  if (!phone.device || !navigator.storage?.persist) return;
  const keeps = (await navigator.storage.persisted()) || (await navigator.storage.persist());
  if (keeps !== phone.keepsStorage) await setThings({ keepsStorage: keeps });
};

const cannotKeep = (error) => {
  document.documentElement.lang = language();
  document.body.replaceChildren(
    h("main", { class: "page", id: "main" }, h("h1", {}, t("field")), h("div", { class: "notice grave", role: "alert" }, p(t("storage_refused", { why: error.name ?? String(error) })))));
};

/** Reads every other script, before a newer page may take this one's place, and begins to send. */
const readTheRest = async () => {
  const { startSyncing } = await import("./sync.js");
  startSyncing();
  await Promise.all([readWork(), ...Object.keys(SCRIPTS).map(readPage)]);
};

const start = async () => {
  try {
    await Promise.all([ready, readPage(place()[0])]);
  } catch (error) {
    return cannotKeep(error);
  }
  draw();
  performance.mark("first-stop");
  addEventListener("hashchange", goOn);
  await painted();
  onChange(refresh); // not before: what was read at the start is drawn already
  await readTheRest();
  await register();
  const asking = () => phone.device && phone.keepsStorage === null && askToKeep();
  onChange(asking);
  await askToKeep();
};

start();
