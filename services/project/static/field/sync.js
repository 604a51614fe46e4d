/* Sends what was done, in order and in batches, until the book has answered for each event.

   It is tried when the page opens, when the net comes back, by a timer and by a button.  After
   anything but an answer the same events go again with the same ids. */

import { Hindered, ask } from "./asking.js";
import { clockNow, clockToSend, heard } from "./clock.js";
import { stamp } from "./hours.js";
import { tellBook } from "./leaving.js";
import { fetchPacket } from "./packet.js";
import { changed, load, phone, setThings, unsent, unsentPhotos } from "./phone.js";
import { sendPhotos } from "./photos.js";
import { dropOld, offerAgain, takeReplies } from "./receipts.js";
import { asked, transact } from "./store.js";
import { language } from "./words.js";

const MOST_EVENTS = 50;
const MOST_BYTES = 1024 * 1024 - 4096; // of the events; the rest is for what stands around them
const FIRST_WAIT = 5_000; // ms
const LONGEST_WAIT = 5 * 60_000; // ms
const SOON = 60_000; // ms, to the next try while something is unsent
const LATER = 10 * 60_000; // ms, otherwise

let misses = 0; // tries in a row that came to nothing
let share = MOST_EVENTS; // of a batch; less after the book found one too large
let notBefore = 0; // by the phone's clock, ms: the book asked to be left alone until then
let timer = 0;
let isWanted = false; // something was kept, or somebody asked, while a try was under way

const isToSend = ({ state }) => state === "waiting";

/** Returns the next events, as many as one request takes. */
const nextBatch = () => {
  let bytes = 0;
  const room = ({ event }) => (bytes += new Blob([JSON.stringify(event)]).size + 1) <= MOST_BYTES;
  const rows = unsent().filter(isToSend).slice(0, share);
  return rows.filter((row, place) => place === 0 || room(row));
};

/** Notes that events are about to leave: from now on they are never changed, but for the clock. */
const markLeaving = (rows) =>
  transact(["outbox"], async ({ outbox }) => {
    const events = [];
    for (const { event_id: id } of rows) {
      const row = await asked(outbox.get(id));
      if (!row) continue;
      const event = { ...row.event, clock: clockToSend(row.event.clock) };
      outbox.put({ ...row, event, attempts: row.attempts + 1 });
      events.push(event);
    }
    return events;
  });

const oldest = () => {
  const made = unsent().map((row) => row.made_at);
  return made.length ? stamp(new Date(Math.min(...made)), "UTC") : null;
};

const post = async (events) => {
  const body = {
    device_id: phone.device.id,
    unsent: phone.outbox.size,
    oldest_unsent_at: oldest(),
    keeps_storage: phone.keepsStorage,
    events,
  };
  const answer = await ask("/api/v1/sync/", {
    method: "POST",
    headers: {
      "Content-Type": "application/json",
      "X-Phone": phone.device.id,
      "Accept-Language": language(),
    },
    body: JSON.stringify(body),
  });
  return answer.json();
};

/** Notes the run of the book and the numbers that never came. */
const takeStanding = async (answer) => {
  heard(answer.server_time);
  if (phone.epoch && answer.epoch !== phone.epoch) await offerAgain();
  const held = new Set(unsent().map((row) => row.event.device_seq));
  const [first, last] = answer.gaps.find(([from, to]) => !covers(held, from, to)) ?? [];
  const lost = first ? { kind: "book", from: first, to: last } : phone.lost;
  await setThings({ epoch: answer.epoch, heardAt: Date.now(), isEnrolled: true, lost: lost ?? null });
};

const covers = (held, from, to) => {
  for (let number = from; number <= to; number += 1) if (!held.has(number)) return false;
  return true;
};

/** Sends one batch; none asks how things stand.  Returns how many events were answered for. */
const sendBatch = async (rows) => {
  const answer = await post(await markLeaving(rows));
  await takeReplies(answer);
  await load();
  await takeStanding(answer);
  await load();
  return answer.replies.length;
};

/** Where an event's clock could not be told, the book is asked for the time before it leaves. */
const lacksClock = ({ event }) => !event.clock.server_seen && !clockNow().server_seen;

const sendEvents = async () => {
  if (nextBatch().some(lacksClock)) await sendBatch([]);
  let rows = nextBatch();
  do {
    const answered = await sendBatchOrLess(rows);
    if (rows.length && !answered) return;
    rows = nextBatch();
  } while (rows.length);
};

const sendBatchOrLess = async (rows) => {
  try {
    return await sendBatch(rows);
  } catch (error) {
    if (!(error instanceof Hindered) || error.word !== "too-large" || !rows.length) throw error;
    if (rows.length === 1) return giveUp(rows[0]);
    share = Math.ceil(rows.length / 2);
    return sendBatchOrLess(rows.slice(0, share));
  }
};

/** One event that is too large by itself stays on the phone and is told of. */
const giveUp = async (row) => {
  const reply = { result: "refused", problem: { title: "too-large" } };
  await transact(["outbox"], ({ outbox }) => outbox.put({ ...row, state: "refused", reply }));
  await load();
  return 1;
};

const round = async () => {
  await load();
  if (phone.leaving) await tellBook();
  if (!phone.device) {
    await fetchPacket();
  } else {
    await sendEvents(); // what was done goes first
    await fetchPacket();
    await sendPhotos();
  }
  await dropOld();
  await load();
  [misses, share, notBefore] = [0, MOST_EVENTS, 0];
  phone.trouble = null;
};

/** A phone that was taken back shows no stop any more and keeps what it has not sent. */
const lockOut = () => setThings({ isEnrolled: false, packet: null });

const isFull = (error) => error instanceof DOMException && error.name === "QuotaExceededError";

const hindered = async (failure) => {
  const error = isFull(failure) ? new Hindered("full") : failure;
  if (!(error instanceof Hindered)) throw error;
  misses += 1;
  if (error.wait) notBefore = Date.now() + error.wait;
  if (error.word === "not-enrolled") await lockOut();
  phone.trouble = error.word;
};

/** Returns how long to wait after so many misses, in ms, with chance in it: not all at once. */
const backOff = () => {
  const most = Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** Math.min(misses - 1, 10));
  return most / 2 + (Math.random() * most) / 2;
};

const isWaiting = () => unsent().some(isToSend) || unsentPhotos().length > 0;

const again = () => {
  clearTimeout(timer);
  const pause = misses ? backOff() : isWaiting() ? SOON : LATER;
  timer = setTimeout(() => sync(), Math.max(pause, notBefore - Date.now()));
};

const tryToSend = async () => {
  phone.isSending = true;
  changed();
  try {
    do {
      isWanted = false;
      await round();
    } while (isWanted);
  } catch (error) {
    await hindered(error);
  } finally {
    phone.isSending = false;
    again();
    changed();
  }
};

/** Tries to send; in one page of the phone at a time.  A person who asks does not wait. */
export const sync = async ({ isAsked = false } = {}) => {
  isWanted = true;
  if (phone.isSending) return;
  if (!isAsked && Date.now() < notBefore) return again();
  await navigator.locks.request("sync", { ifAvailable: true }, (lock) => lock && tryToSend());
};

/** Sends soon after something was kept. */
export const syncSoon = () => {
  if (!misses) sync();
};

export const startSyncing = () => {
  window.addEventListener("online", () => sync());
  document.addEventListener("visibilitychange", () => document.hidden || sync());
  sync();
};
