/* Moments as they are kept, with the offset of the place, and as a person reads them. */

const OFFSET = /GMT(?:([+-]\d\d):?(\d\d))?/;

const part = (moment, zone, options, language = "en-US") =>
  new Intl.DateTimeFormat(language, { timeZone: zone, ...options }).format(moment);

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

/** Tells the hour of a stamp where the stop is: 7:42 am in English, 19:42 in Spanish. */
export const hour = (stamped, zone, language) =>
  part(new Date(stamped), zone, {
    hour: "numeric",
    minute: "2-digit",
    hour12: language === "en",
  }, language === "en" ? "en-US" : "es").toLowerCase();

/** Tells a day in full: Monday, July 13. */
export const longDay = (day, language) =>
  part(new Date(`${day}T12:00:00Z`), "UTC", { weekday: "long", month: "long", day: "numeric" },
    language === "en" ? "en-US" : "es");

/** Tells a day and an hour in short. */
export const dayAndHour = (stamped, zone, language) =>
  part(new Date(stamped), zone, {
    month: "short",
    day: "numeric",
    hour: "numeric",
    minute: "2-digit",
    hour12: language === "en",
  }, language === "en" ? "en-US" : "es");

/** Returns the day of a moment where the stop is, such as 2026-07-13. */
export const dayIn = (zone, moment = new Date()) => stamp(moment, zone).slice(0, 10);
