/* Signs the phone out: at once on the phone, and in the book as soon as it can be told. */

import { ask } from "./asking.js";
import { load, phone, setThings } from "./phone.js";
import { forgetAll, putThings } from "./store.js";

/** Tells the book that this phone has left; one that it does not know any more has left as well. */
export const tellBook = async () => {
  const headers = { "X-Phone": phone.leaving };
  await ask("/api/v1/leaving/", { method: "POST", headers }, [204, 401, 403]);
  await setThings({ leaving: null });
};

/** Takes everything off the phone but the language and the light. */
export const leave = async () => {
  const leaving = phone.device?.id ?? null;
  await forgetAll();
  await putThings({ isEnrolled: false, leaving });
  Object.assign(phone, { packet: null, device: null, epoch: null, heardAt: null, lost: null });
  await load();
};
