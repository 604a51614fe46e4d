/* One stop: read, apply, keep, as a page to scroll; when it is kept, what was kept.

   What is read is there at once; the form comes as soon as its scripts are. */

import { button, h, p, painted } from "./elements.js";
import { draftOf, keyOf, stopOf } from "./phone.js";
import { readStep } from "./read.js";
import { said, t } from "./words.js";

let workOn = null;

/** Reads the scripts of the form, once. */
export const readWork = async () => {
  ({ workOn } = await import("./work.js"));
};

export const back = () => h("p", { class: "whence" }, h("a", { href: "#/" }, t("all_stops")));

const head = (stop) => {
  const { arrives, place } = said(stop.texts);
  return h("header", { class: "stop" },
    h("h1", { class: "address" }, place.address),
    p([place.town, place.client].filter(Boolean).join(" · ")),
    place.phone ? h("p", {}, h("a", { href: `tel:${place.phone}` }, place.phone)) : null,
    p([arrives, t("week_of", { week: stop.week, weeks: stop.weeks })].filter(Boolean).join(" · "), "hours"));
};

export const titleOf = (stop) => said(stop.texts).place.address;

/** The form of a stop, or what was kept; in its place where the scripts are not here yet. */
const workPart = (stop) => {
  if (workOn) return workOn(stop);
  const place = h("div", {});
  const fill = async () => {
    await painted();
    await readWork();
    place.replaceWith(...[workOn(stop)].flat());
  };
  fill();
  return place;
};

const noteLine = (stop) =>
  h("p", { class: "acts" }, button(t("note_here"), () => (location.hash = `#/note/new/${stop.visit}`), { id: "note-here" }));

/** The page of a stop. */
export const stopPage = (visit) => {
  const stop = stopOf(Number(visit));
  const page = (...children) =>
    h("main", { class: "page", id: "main", tabindex: "-1", "data-stop": visit }, back(), children);
  if (!stop) return page(h("h1", {}, t("no_stop")), p(t("no_stop_says")));
  const isKept = Boolean(draftOf(keyOf(stop))?.kept);
  return Object.assign(page(head(stop), isKept ? null : readStep(stop), workPart(stop), noteLine(stop)), { isForm: !isKept });
};
