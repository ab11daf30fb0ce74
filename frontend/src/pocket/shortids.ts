// Bag ids with a check character: ISO/IEC 7064, MOD 37,36. I, L and O are never used.

const alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const batchLetters = "23456789ABCDEFGHJKMNPQRSTUVWXYZ";
const lookAlike: Record<string, string> = { I: "1", L: "1", O: "0" };
const mostBags = 999;

/** Return the check character of digits and capital letters. */
export function checkCharacter(body: string): string {
  let carried = 36;
  for (const one of body) {
    const value = alphabet.indexOf(one);
    if (value < 0) throw new Error(`no digit or capital letter: ${one}`);
    carried = (((carried + value) % 36 || 36) * 2) % 37;
  }
  return alphabet.charAt((37 - carried) % 36);
}

/** What a text read off a bag turned out to be. */
export interface BagReading {
  id: string | null;
  wanted: string | null;
}

/** Read a bag id; `wanted` is the check character that would have fitted. */
export function readBagId(text: string): BagReading {
  const plain = text
    .replace(/[\s\-\u2010-\u2015_.]+/g, "")
    .toUpperCase()
    .replace(/[ILO]/g, (one) => lookAlike[one] ?? one);
  const parts = /^([0-9A-Z]{2,3})(\d{3})([0-9A-Z])$/.exec(plain);
  if (!parts) return { id: null, wanted: null };
  const check = checkCharacter(plain.slice(0, -1));
  if (check !== parts[3]) return { id: null, wanted: check };
  return { id: `${parts[1]}-${parts[2]}-${parts[3]}`, wanted: null };
}

/** Draw the batch of this phone from random bytes; D begins the names of digs. */
export function drawBatch(random: Uint8Array): string {
  const letters = [...random].map((byte) => batchLetters.charAt(byte % batchLetters.length));
  return letters.slice(0, 3).join("").replace(/^D/, "E");
}

/** Return the first id of a batch that is not taken. */
export function nextBagId(batch: string, taken: ReadonlySet<string>): string {
  for (let number = 1; number <= mostBags; number += 1) {
    const body = `${batch}${String(number).padStart(3, "0")}`;
    const check = checkCharacter(body);
    const id = `${batch}-${body.slice(batch.length)}-${check}`;
    if (!(check in lookAlike) && !taken.has(id)) return id;
  }
  throw new Error(`no id left in batch: ${batch}`);
}
