/* Fetches the stops of today and tomorrow, and makes this phone known to itself. */

import { ask } from "./asking.js";
import { heard } from "./clock.js";
import { load, phone } from "./phone.js";
import { offerAgain } from "./receipts.js";
import { asked, transact } from "./store.js";

/** Fetches the packet; without news nothing is written but that the book was heard of. */
export const fetchPacket = async () => {
  const known = phone.packet?.digest;
  const headers = known ? { "If-None-Match": `"${known}"` } : {};
  const answer = await ask("/api/v1/packet/", { headers }, [200, 304]);
  if (answer.status === 304) {
    await transact(["things"], ({ things }) => things.put(Date.now(), "heardAt"));
  } else {
    await take(await answer.json());
  }
  await load();
};

const take = async (packet) => {
  heard(packet.made_at);
  await transact(["things", "outbox"], async ({ things, outbox }) => {
    const device = await asked(things.get("device"));
    if (device?.id !== packet.device.id) await becomeDevice(packet.device, things, outbox);
    things.put(packet.device, "device");
    things.put(packet, "packet");
    things.put(packet.digest, "digest");
    things.put(Date.now(), "heardAt");
    things.put(true, "isEnrolled");
    await noteLoss(packet.device, things);
  });
  if (phone.epoch && phone.epoch !== packet.epoch) await offerAgain();
  await transact(["things"], ({ things }) => things.put(packet.epoch, "epoch"));
};

/** A phone that is enrolled anew is a new one: what is unsent is numbered from one. */
const becomeDevice = async (device, things, outbox) => {
  const rows = await asked(outbox.getAll());
  rows.sort((a, b) => a.event.device_seq - b.event.device_seq);
  let seq = device.last_seq;
  for (const row of rows) {
    seq += 1;
    const event = { ...row.event, device_id: device.id, device_seq: seq };
    outbox.put({ ...row, event, isMoved: row.attempts > 0 || Boolean(row.isMoved) });
  }
  things.put(seq, "seq");
  await forgetLanguage(things);
};

/** Who enrolls a phone reads it in the language that the book knows; what was chosen before is over. */
const forgetLanguage = async (things) => {
  const { language, ...settings } = (await asked(things.get("settings"))) ?? {};
  if (language) things.put(settings, "settings");
};

/** Where the book knows more of this phone than the phone does, it has lost what it held. */
const noteLoss = async (device, things) => {
  const seq = (await asked(things.get("seq"))) ?? 0;
  if (device.last_seq <= seq) return;
  things.put(device.last_seq, "seq");
  things.put({ kind: "phone", from: seq + 1, to: device.last_seq }, "lost");
};
