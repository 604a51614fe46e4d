/* What the phone holds, in memory, and who is told when it changes.  The store has it first. */

import { asked, putThings, readAll } from "./store.js";

const HOUR = 3_600_000; // ms

export const phone = {
  packet: null, // as the book sent it, with made_at, digest and device
  heardAt: null, // by the phone's own clock, in ms
  device: null,
  epoch: null,
  settings: {}, // language, light
  drafts: new Map(),
  outbox: new Map(),
  photos: new Map(), // without the pictures themselves
  isEnrolled: true,
  keepsStorage: null,
  trouble: null, // a word for what hinders sending: "no-signal", "not-enrolled" …
  leaving: null, // the device that was signed out and of which the book has not heard
  lost: null, // what the book says never came
  isNewer: false, // a newer page is ready
};

const listeners = new Set();
/** Calls a function whenever what the phone holds has changed. */
export const onChange = (listener) => listeners.add(listener);
let isToTell = false;
/** Tells of a change, once for all that changes together. */
export const changed = () => {
  if (isToTell) return;
  isToTell = true;
  setTimeout(() => {
    isToTell = false;
    listeners.forEach((listener) => listener());
  });
};

const byKey = (rows, key) => new Map(rows.map((row) => [row[key], row]));
const withoutPicture = ({ picture, ...rest }) => rest;

const THINGS = ["heardAt", "device", "epoch", "settings", "isEnrolled", "keepsStorage", "lost", "leaving"];

/** The packet is large: it is read again only where the store has another one. */
const packetNow = async (things) => {
  const isHere = phone.packet !== null && (await asked(things.get("digest"))) === phone.packet.digest;
  return isHere ? phone.packet : ((await asked(things.get("packet"))) ?? null);
};

/** Reads everything but receipts and pictures from the store; the packet where it is another one. */
export const load = async () => {
  const read = await readAll(["things", "drafts", "outbox", "photos"], async (stores) => {
    const [things, rows, packet] = await Promise.all([
      Promise.all(THINGS.map((name) => asked(stores.things.get(name)))),
      Promise.all(["drafts", "outbox", "photos"].map((name) => asked(stores[name].getAll()))),
      packetNow(stores.things),
    ]);
    return { things, rows, packet };
  });
  phone.packet = read.packet;
  THINGS.forEach((name, place) => {
    if (read.things[place] !== undefined) phone[name] = read.things[place];
  });
  const [drafts, outbox, photos] = read.rows;
  phone.drafts = byKey(drafts, "key");
  phone.outbox = byKey(outbox, "event_id");
  phone.photos = byKey(photos.map(withoutPicture), "sha256");
  changed();
};

/** What the phone holds, asked for as soon as this script is there. */
export const ready = load();
ready.catch(() => {}); // told by whoever waits for it

export const setThings = async (values) => {
  await putThings(values);
  Object.assign(phone, values);
  changed();
};

/** Says whether the stops may still be shown: not for ever without having heard of the book. */
export const isFresh = () =>
  phone.packet !== null &&
  phone.heardAt !== null &&
  Date.now() - phone.heardAt < Number(phone.packet.packet.kept_hours) * HOUR;

export const stops = () => (phone.isEnrolled && isFresh() ? phone.packet.packet.stops : []);
export const stopOf = (visit) => stops().find((stop) => stop.visit === visit) ?? null;
export const dayOf = (stop) =>
  phone.packet.packet.days.find((day) => day.dispatch === stop.dispatch) ?? null;

/** The name of the form of a stop. */
export const keyOf = (stop) => `visit-${stop.visit}-${stop.day}`;
export const draftOf = (key) => phone.drafts.get(key) ?? null;

/** Returns the events that the book has not answered for, in the order in which they were made. */
export const unsent = () =>
  [...phone.outbox.values()].sort((a, b) => a.event.device_seq - b.event.device_seq);

export const unsentPhotos = () =>
  [...phone.photos.values()].filter(({ state }) => state === "queued");
