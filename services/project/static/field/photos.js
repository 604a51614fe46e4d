/* Photos are kept with their form and sent after their event, piece by piece; they never hold an
   event up, and a piece that was lost is sent again from where the book says. */

import { Hindered, ask } from "./asking.js";
import { changed, load, phone, unsentPhotos } from "./phone.js";
import { redrawn } from "./pictures.js";
import { asked, readAll, transact } from "./store.js";

const PIECE = 512 * 1024; // bytes
export const MOST_PHOTOS = 20; // of one event

/** Keeps a picture with a form, both or neither. */
export const addPhoto = async (draft, file) => {
  const { sha256, size, picture } = await redrawn(file);
  await transact(["drafts", "photos"], async ({ drafts, photos }) => {
    const form = (await asked(drafts.get(draft.key))) ?? draft;
    if (form.kept || form.photos.some((each) => each.sha256 === sha256)) return;
    photos.put({ sha256, size, picture, state: "draft" });
    drafts.put({ ...form, photos: [...form.photos, { sha256, size }], written_at: Date.now() });
  });
  await load();
};

export const dropPhoto = async (draft, sha256) => {
  await transact(["drafts", "photos"], async ({ drafts, photos }) => {
    const form = await asked(drafts.get(draft.key));
    drafts.put({ ...form, photos: form.photos.filter((each) => each.sha256 !== sha256) });
    photos.delete(sha256);
  });
  await load();
};

export const pictureOf = (sha256) =>
  readAll(["photos"], async ({ photos }) => (await asked(photos.get(sha256)))?.picture ?? null);

const address = (sha256) => `/api/v1/photos/${sha256}/`;

const standing = async (sha256) => {
  const answer = await ask(address(sha256), {}, [200, 404]);
  return answer.status === 404 ? null : answer.json();
};

const sendPiece = async (sha256, picture, offset) => {
  const headers = {
    "X-Phone": phone.device.id,
    "Content-Type": "application/octet-stream",
    "Upload-Offset": String(offset),
  };
  const body = await picture.slice(offset, offset + PIECE).arrayBuffer();
  const answer = await ask(address(sha256), { method: "PATCH", headers, body }, [200, 404, 409, 422]);
  if (answer.status === 409) return standing(sha256);
  if (answer.status === 404) return null;
  return answer.status === 422 ? { isNone: true } : answer.json();
};

/** Sends one photo to its end; says what became of it: sent, later or none. */
const sendPhoto = async ({ sha256 }) => {
  const picture = await pictureOf(sha256);
  let told = await standing(sha256);
  while (told && !told.kept && !told.isNone) {
    const before = told.received;
    told = await sendPiece(sha256, picture, before);
    if (told && !told.kept && !told.isNone && told.received === before) throw new Hindered("busy");
  }
  if (!told) return "later"; // the event that announces it has not come yet
  return told.isNone ? "none" : "sent";
};

const note = (sha256, outcome) =>
  transact(["photos", "sent"], async ({ photos, sent }) => {
    const photo = await asked(photos.get(sha256));
    if (outcome === "none") photos.put({ ...photo, state: "refused" });
    if (outcome !== "sent") return;
    sent.put({ sha256, size: photo.size, picture: photo.picture, at: Date.now() });
    photos.delete(sha256);
  });

export const sendPhotos = async () => {
  for (const photo of unsentPhotos()) {
    const outcome = await sendPhoto(photo);
    if (outcome === "later") continue;
    await note(photo.sha256, outcome);
    phone.photos.delete(photo.sha256);
    changed();
  }
};
