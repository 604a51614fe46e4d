/* Moments as they are kept, with the offset of the place, and as a person reads them. */

const OFFSET = /GMT(?:([+-]\d\d):?(\d\d))?/;

const formats = new Map(); // to make one takes longer than to use it many times

const formatOf = (language, options) => {
  const key = JSON.stringify([language, options]);
  if (!formats.has(key)) formats.set(key, new Intl.DateTimeFormat(language, options));
  return formats.get(key);
};

const part = (moment, zone, options, language = "en-US") =>
  formatOf(language, { timeZone: zone, ...options }).format(moment);

/** Returns the offset of a place at a moment, such as -04:00. */
const offsetOf = (moment, zone) => {
  const [, hours, minutes] = OFFSET.exec(part(moment, zone, { timeZoneName: "longOffset" }));
  return hours ? `${hours}:${minutes}` : "+00:00";
};

export const ownZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone;

/**
 * Writes a moment with the offset of a place, to the second [RFC3339].
 * @param {Date} moment @param {string} [zone] IANA name
 */
export const stamp = (moment, zone = ownZone()) => {
  const offset = offsetOf(moment, zone);
  const [sign, hours, minutes] = [offset[0], offset.slice(1, 3), offset.slice(4)];
  const ahead = (Number(hours) * 60 + Number(minutes)) * (sign === "-" ? -1 : 1);
  const local = new Date(moment.getTime() + ahead * 60_000);
  return local.toISOString().slice(0, 19) + offset;
};

/** Moves a stamp by minutes and leaves its place. */
export const moved = (stamped, minutes, zone) =>
  stamp(new Date(Date.parse(stamped) + minutes * 60_000), zone);

const clock = (hours, minutes, language) => {
  const past = String(minutes).padStart(2, "0");
  if (language === "es") return `${hours}:${past}`;
  return `${hours % 12 || 12}:${past} ${hours < 12 ? "am" : "pm"}`;
};

/** Tells the hour of a stamp in the place of its offset: 7:42 am in English, 19:42 in Spanish. */
export const hour = (stamped, language) =>
  clock(Number(stamped.slice(11, 13)), stamped.slice(14, 16), language);

/** Tells the hour of a moment by the phone's own clock. */
export const hourHere = (moment, language) => {
  const here = new Date(moment);
  return clock(here.getHours(), here.getMinutes(), language);
};

/** Tells a day and an hour in short. */
export const dayAndHour = (stamped, zone, language) => {
  const moment = new Date(stamped);
  const day = part(moment, zone, { month: "short", day: "numeric" }, language === "en" ? "en-US" : "es");
  return `${day}, ${hour(stamp(moment, zone), language)}`;
};

/** Returns the day of a moment where the stop is, such as 2026-07-13. */
export const dayIn = (zone, moment = new Date()) => stamp(moment, zone).slice(0, 10);
