/* Makes a taken or picked picture small enough to send: drawn anew, which also leaves behind the
   place and the camera that a file tells of. */

const LONGEST_SIDE = 2_000; // px
const QUALITY = 0.85;

const sizeOf = ({ width, height }) => {
  const scale = Math.min(1, LONGEST_SIDE / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) };
};

const drawn = async (bitmap) => {
  const { width, height } = sizeOf(bitmap);
  const canvas = new OffscreenCanvas(width, height);
  canvas.getContext("2d").drawImage(bitmap, 0, 0, width, height);
  return canvas.convertToBlob({ type: "image/jpeg", quality: QUALITY });
};

const digestOf = async (picture) => {
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", await picture.arrayBuffer()));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
};

/**
 * Returns a picture ready to be kept; throws where the file is none.
 * @param {Blob} file
 * @returns {Promise<{sha256: string, size: number, picture: Blob}>}
 */
export const redrawn = async (file) => {
  const bitmap = await createImageBitmap(file);
  const picture = await drawn(bitmap);
  bitmap.close();
  return { sha256: await digestOf(picture), size: picture.size, picture };
};
