/* Turns a form into an event: number, event and form are written in one transaction, so that a
   phone that dies between two taps keeps all of it or nothing, and keeps it once. */

import { clockNow } from "./clock.js";
import { stamp } from "./hours.js";
import { load, phone } from "./phone.js";
import { asked, transact } from "./store.js";
import { uuid7 } from "./uuid7.js";

const STORES = ["things", "drafts", "outbox", "photos"];

/**
 * Returns an event but for its number.
 * @param {{kind: string, body: object, stop?: object, done_at?: string, zone?: string,
 *   photos?: object[], event_id?: string}} told
 */
export const eventOf = ({ kind, body, stop = null, done_at, zone, photos = [], event_id }) => {
  const place = stop?.zone ?? zone;
  const now = stamp(new Date(), place);
  return {
    event_id: event_id ?? uuid7(),
    kind,
    body,
    visit_id: stop?.visit ?? null,
    base_version: stop?.version ?? null,
    packet: stop ? (phone.packet?.digest ?? "") : "",
    done_at: done_at ?? now,
    captured_at: now,
    zone: place ?? "",
    clock: clockNow(),
    photos,
  };
};

/** Gives an event the next number of this phone; the number is used up with it. */
const number = async (things, event) => {
  const seq = ((await asked(things.get("seq"))) ?? 0) + 1;
  things.put(seq, "seq");
  const device = await asked(things.get("device"));
  return { ...event, device_id: device.id, device_seq: seq };
};

const post = async ({ things, outbox, photos }, event, told) => {
  const numbered = await number(things, event);
  outbox.put({
    event_id: event.event_id,
    event: numbered,
    state: "waiting",
    attempts: 0,
    made_at: Date.now(),
    ...told,
  });
  await Promise.all(event.photos.map(({ sha256 }) => queuePhoto(photos, sha256)));
};

const queuePhoto = async (photos, sha256) => {
  const photo = await asked(photos.get(sha256));
  if (photo && photo.state === "draft") photos.put({ ...photo, state: "queued" });
};

/**
 * Keeps a form as an event; done twice, it is kept once.
 * @param {object} draft @param {object} event
 * @param {{title: string}} told what the lists say of it
 */
export const keep = async (draft, event, told) => {
  await transact(STORES, async (stores) => {
    const known = await asked(stores.drafts.get(draft.key));
    if (known?.kept) return;
    const form = { ...known, ...draft };
    const kept = { event_id: event.event_id, kind: event.kind, at: Date.now() };
    await post(stores, event, { ...told, form });
    stores.drafts.put({ ...form, kept });
  });
  await load();
};

/** Notes that the crew has begun; a second tap changes nothing. */
export const begin = async (draft, stop, told) => {
  const event = eventOf({ kind: "start", body: {}, stop });
  await transact(STORES, async (stores) => {
    const known = (await asked(stores.drafts.get(draft.key))) ?? draft;
    if (known.kept || known.started_at) return;
    await post(stores, event, told);
    stores.drafts.put({ ...known, started_at: event.done_at });
  });
  await load();
};

/**
 * Puts an earlier report right.  One that never left the phone is written anew under its own id and
 * number; of one that did, the change is an event of its own.
 */
export const amend = async (draft, changes, { reason, title, zone, form }) => {
  await transact(STORES, async (stores) => {
    const known = await asked(stores.drafts.get(draft.key));
    if (known?.kept) return;
    const waiting = await asked(stores.outbox.get(draft.amends));
    if (waiting && waiting.attempts === 0) {
      await rewrite(stores, waiting, changes, form);
      stores.drafts.delete(draft.key);
      return;
    }
    const body = { event: draft.amends, reason, changes };
    const event = eventOf({ kind: "amend", body, zone, photos: draft.photos, event_id: draft.event_id });
    await post(stores, event, { title, amends: draft.amends });
    const kept = { event_id: event.event_id, kind: "amend", at: Date.now() };
    stores.drafts.put({ ...draft, kept });
  });
  await load();
};

const rewrite = async ({ outbox, photos }, waiting, changes, form) => {
  const { done_at: doneAt = waiting.event.done_at, ...body } = changes;
  const added = form.photos.filter(({ sha256 }) => !waiting.event.photos.some((p) => p.sha256 === sha256));
  const event = {
    ...waiting.event,
    done_at: doneAt,
    body: { ...waiting.event.body, ...body },
    photos: [...waiting.event.photos, ...added],
  };
  outbox.put({ ...waiting, event, form });
  await Promise.all(added.map(({ sha256 }) => queuePhoto(photos, sha256)));
};
