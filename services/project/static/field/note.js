/* A note alone: something that the office should know of a stop or of the day, said or shown. */

import { photoPart } from "./album.js";
import { keepOrDrop, keptAlone, zoneHere } from "./alone.js";
import { freshDraft } from "./drafts.js";
import { h, p } from "./elements.js";
import { text } from "./fields.js";
import { formOf } from "./form.js";
import { eventOf } from "./keeping.js";
import { draftOf, stopOf } from "./phone.js";
import { back, titleOf } from "./stop.js";
import { t } from "./words.js";
import { live, writtenLine } from "./written.js";

const TITLE = 60; // signs of a note in a list

const problemOf = ({ text: said, photos }) => (said?.trim() || photos.length ? "" : t("say_note"));

const eventFor = ({ text: said, about, photos, event_id }) =>
  eventOf({ kind: "note", body: said?.trim() ? { text: said } : {}, stop: stopOf(about), zone: zoneHere(), photos, event_id });

const shortly = ({ text: said }) => said?.trim().slice(0, TITLE) || t("photos");

const formPart = (form) => [
  text({ name: "text", label: t("note"), hint: t("note_says"), value: form.draft.text, rows: 5, most: 4000, onset: (said) => form.set({ text: said }) }),
  photoPart(form),
  keepOrDrop(form, { problemOf, eventFor, titleOf: shortly, action: t("keep_note") }),
  live(form, () => writtenLine(form), { class: "written", role: "status" }),
];

/** The page of a note; a new one may be about a stop. */
export const notePage = (key, visit) => {
  if (key === "new") {
    location.replace(`#/note/note-${freshDraft("").event_id}${visit ? `/${visit}` : ""}`);
    return h("main", { class: "page", id: "main", tabindex: "-1" });
  }
  const draft = draftOf(key) ?? freshDraft(key, { about: visit ? Number(visit) : null });
  const stop = stopOf(draft.about);
  const page = (...children) =>
    h("main", { class: "page", id: "main", tabindex: "-1" }, back(), h("h1", {}, t("a_note")),
      stop ? p(t("note_about", { what: titleOf(stop) }), "lead") : null, children);
  if (draft.kept) return page(keptAlone(draft));
  return Object.assign(page(formPart(formOf(draft))), { isForm: true });
};
