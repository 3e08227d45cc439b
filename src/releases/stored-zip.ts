/**
 * The container of format 1: a ZIP with method STORE, every time set to 1980-01-01 00:00, files in the order given.
 * Nothing is compressed, so a file inside is a plain range of the bundle and the same files give the same bytes.
 */
import { unzipSync, zipSync } from 'fflate';

export interface NamedBytes {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** @returns the bytes of the ZIP; the same for the same files on any machine. */
export function storeZip(files: readonly NamedBytes[]): Uint8Array {
  // The library writes local time, so the date is built from local parts: every time zone writes the same bits.
  const mtime = new Date(1980, 0, 1);
  return zipSync(Object.fromEntries(files.map(({ name, bytes }) => [name, [bytes, { level: 0, mtime }]])));
}

/**
 * Files of a ZIP in the order of its directory. Throws when the bytes are not a ZIP, or when a file is compressed:
 * format 1 never is, and so a hostile bundle cannot unpack to more than its own size.
 */
export function readStoredZip(bytes: Uint8Array): NamedBytes[] {
  const names: string[] = [];
  const files = unzipSync(bytes, {
    filter: (entry) => {
      if (entry.compression !== 0) throw new Error(`${entry.name} is compressed; a bundle only stores its files`);
      names.push(entry.name);
      return true;
    },
  });
  return names.map((name) => {
    const content = files[name];
    if (content === undefined) throw new Error(`${name} cannot be read`);
    return { name, bytes: content };
  });
}
