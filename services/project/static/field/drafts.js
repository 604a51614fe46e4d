/* Forms on the phone: every change is written before it is shown as kept. */

import { changed, draftOf, keyOf, phone } from "./phone.js";
import { asked, transact } from "./store.js";
import { uuid7 } from "./uuid7.js";

/** Returns a new form; its event's id is chosen now, so that keeping it twice keeps one. */
export const freshDraft = (key, fields = {}) => ({
  key,
  event_id: uuid7(),
  made_at: Date.now(),
  photos: [],
  kept: null,
  ...fields,
});

/** Returns the form of a stop, a new one where it has none yet. */
export const draftFor = (stop) =>
  draftOf(keyOf(stop)) ?? freshDraft(keyOf(stop), { visit: stop.visit, day: stop.day });

/**
 * Writes a change of a form; one that is kept is not changed any more.  Returns the form as the
 * store has it.  Throws where the store refuses it, and then nothing is changed.
 */
export const change = async (draft, fields) => {
  const written = await transact(["drafts"], async ({ drafts }) => {
    const known = (await asked(drafts.get(draft.key))) ?? draft;
    if (known.kept) return known;
    const next = { ...known, ...fields, written_at: Date.now() };
    drafts.put(next);
    return next;
  });
  phone.drafts.set(written.key, written);
  changed();
  return written;
};

/** Drops a form that was begun and is not wanted. */
export const drop = async (draft) => {
  await transact(["drafts", "photos"], ({ drafts, photos }) => {
    drafts.delete(draft.key);
    for (const { sha256 } of draft.photos) photos.delete(sha256);
  });
  phone.drafts.delete(draft.key);
  for (const { sha256 } of draft.photos) phone.photos.delete(sha256);
  changed();
};

/** Opens a stop again that was put off: a new form in place of the kept one. */
export const takeUpAgain = async (draft) => {
  const fresh = freshDraft(draft.key, { visit: draft.visit, day: draft.day });
  await transact(["drafts"], ({ drafts }) => drafts.put(fresh));
  phone.drafts.set(fresh.key, fresh);
  changed();
};
