/* Asks the book over the net, and tells what hindered it. */

const PATIENCE = 30_000; // ms

/** The book did not take what was asked; `word` says why, `wait` how long to wait in ms. */
export class Hindered extends Error {
  /** @param {string} word @param {number} [wait] */
  constructor(word, wait = 0) {
    super(word);
    this.word = word;
    this.wait = wait;
  }
}

const waitOf = (answer) => {
  const said = answer.headers.get("Retry-After");
  if (!said) return 0;
  const seconds = /^\d+$/.test(said) ? Number(said) : (Date.parse(said) - Date.now()) / 1000;
  return Number.isFinite(seconds) ? Math.max(0, seconds * 1000) : 0;
};

const WORDS = { 401: "not-enrolled", 403: "not-let-in", 413: "too-large", 429: "busy", 503: "busy" };

/** Asks, and throws Hindered for anything but an answer that `fine` lists. */
export const ask = async (address, options = {}, fine = [200]) => {
  let answer;
  try {
    answer = await fetch(address, {
      credentials: "same-origin",
      cache: "no-store",
      redirect: "error",
      signal: AbortSignal.timeout(PATIENCE),
      ...options,
    });
  } catch {
    throw new Hindered("no-signal"); // fetch tells no more: no net, no server, or no answer in time
  }
  if (fine.includes(answer.status)) return answer;
  throw new Hindered(WORDS[answer.status] ?? (answer.status >= 500 ? "busy" : "odd"), waitOf(answer));
};
