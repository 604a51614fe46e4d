/* What the book said of events: written with the event before it leaves the outbox, kept 14 days. */

import { asked, readAll, transact } from "./store.js";

const KEPT = 14 * 24 * 3_600_000; // ms
const PICTURE_KEPT = 3 * 24 * 3_600_000; // ms; longer than from one backup to the next
const TAKEN = new Set(["accepted", "accepted_flagged", "duplicate"]);

/** Writes what the book said of a batch, in one transaction. */
export const takeReplies = (answer) =>
  transact(["outbox", "receipts"], async (stores) => {
    for (const reply of answer.replies) await takeReply(stores, reply, answer);
  });

const takeReply = async ({ outbox, receipts }, reply, answer) => {
  const row = await asked(outbox.get(reply.event_id));
  if (!row) return;
  if (TAKEN.has(reply.result) || isThereBefore(row, reply)) {
    const { form, event, title, amends } = row;
    receipts.put({
      event_id: reply.event_id, event, form, title, amends, reply, head: answer.head, at: Date.now(),
    });
    outbox.delete(reply.event_id);
    if (amends) await askAgain(outbox, amends);
  } else {
    outbox.put({ ...row, state: reply.result === "refused" ? "refused" : "needs-input", reply });
  }
};

/** An event that was sent before the phone was enrolled anew is in the book under its former name. */
const isThereBefore = (row, reply) =>
  Boolean(row.isMoved) && reply.problem?.title === "another-body";

/** A draft whose missing part has come is sent again, unchanged, for its receipt. */
const askAgain = async (outbox, event) => {
  const draft = await asked(outbox.get(event));
  if (draft?.state === "needs-input") outbox.put({ ...draft, state: "waiting" });
};

/** Offers the events of the last 14 days again, and the last pictures, to a book that was restored. */
export const offerAgain = () =>
  transact(["things", "outbox", "receipts", "photos", "sent"], async ({ things, outbox, receipts, photos, sent }) => {
    for (const { at, ...photo } of await asked(sent.getAll())) photos.put({ ...photo, state: "queued" });
    sent.clear();
    const device = await asked(things.get("device"));
    const rows = (await asked(receipts.getAll())).filter(({ at }) => Date.now() - at < KEPT);
    for (const { event_id, event, form, title, at } of rows) {
      const isMoved = event.device_id !== device.id;
      const named = isMoved ? await renamed(things, event, device) : event;
      outbox.put({ event_id, event: named, form, title, isMoved, state: "waiting", attempts: 1, made_at: at });
    }
  });

const renamed = async (things, event, device) => {
  const seq = ((await asked(things.get("seq"))) ?? 0) + 1;
  things.put(seq, "seq");
  return { ...event, device_id: device.id, device_seq: seq };
};

/** Drops receipts that are older than 14 days, and pictures that have been with the book for some. */
export const dropOld = () =>
  transact(["receipts", "drafts", "outbox", "sent"], async ({ receipts, drafts, outbox, sent }) => {
    for (const row of await asked(sent.getAll())) if (Date.now() - row.at > PICTURE_KEPT) sent.delete(row.sha256);
    const isOld = ({ at }) => Date.now() - at > KEPT;
    for (const row of await asked(receipts.getAll())) if (isOld(row)) receipts.delete(row.event_id);
    const waiting = new Set(await asked(outbox.getAllKeys()));
    for (const { key, kept } of await asked(drafts.getAll())) {
      if (kept && isOld(kept) && !waiting.has(kept.event_id)) drafts.delete(key);
    }
  });

/** Returns what the book said of an event, or null. */
export const receiptOf = (event) =>
  readAll(["receipts"], async ({ receipts }) => (await asked(receipts.get(event))) ?? null);
