/* Ids made on the phone: UUIDs of version 7, which sort by when they were made [RFC9562]. */

/** @param {number} [at] milliseconds since 1970 */
export const uuid7 = (at = Date.now()) => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  const time = BigInt(Math.max(0, Math.floor(at)));
  for (let place = 0; place < 6; place += 1) bytes[place] = Number((time >> BigInt(40 - 8 * place)) & 255n);
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
};
