/* The phone's clock beside the book's.  Anybody can set a phone's clock, so each event says what
   it was, the last time that the book told, and what a counter that nobody sets has counted since.

   The counter may stand still while a phone sleeps, and begins anew with the page: where it and the
   clock no longer agree, it is not told at all, and the clock is told when the event is sent. */

import { stamp } from "./hours.js";

const BEAT = 5_000; // ms
const APART = 2_000; // ms; counter and clock may be so far apart after a beat

let seen = null; // {at: the book's time, tick: the counter then}
let beat = null;

/** Notes the time that the book told just now. */
export const heard = (serverTime) => {
  seen = { at: serverTime, tick: performance.now() };
  beat = { clock: Date.now(), tick: performance.now() };
};

const look = () => {
  if (!seen) return;
  const now = { clock: Date.now(), tick: performance.now() };
  const passed = { clock: now.clock - beat.clock, tick: now.tick - beat.tick };
  if (Math.abs(passed.clock - passed.tick) > APART) seen = null;
  beat = now;
};
setInterval(look, BEAT);

/** Returns the clock of an event: {device, server_seen, ticks_ms}, the last two null where unknown. */
export const clockNow = () => {
  look();
  return {
    device: stamp(new Date()),
    server_seen: seen?.at ?? null,
    ticks_ms: seen ? Math.round(performance.now() - seen.tick) : null,
  };
};

/** Returns the clock of an event that is about to be sent: as it was, or as it is where unknown. */
export const clockToSend = (clock) => (clock.server_seen ? clock : clockNow());
