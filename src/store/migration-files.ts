/** The migrations of this build: migrations/NNNN_name.sql in the order of their numbers. */
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

export interface MigrationFile {
  /** File name, for example 0001_initial.sql. */
  readonly name: string;
  readonly number: number;
  /** SHA-256 of the text with LF line ends, hexadecimal, so that a checkout with CRLF counts as unchanged. */
  readonly digest: string;
  readonly statements: readonly string[];
}

const breakpoint = '--> statement-breakpoint';
const filePattern = /^(\d{4})_[a-z0-9_]+\.sql$/;

/**
 * Reads every migration of a directory.
 * @throws Error when a name is not NNNN_name.sql or a number occurs twice
 */
export function readMigrationFiles(directory: string): MigrationFile[] {
  const files = readdirSync(directory)
    .filter((name) => name.endsWith('.sql'))
    .sort()
    .map((name): MigrationFile => {
      const match = filePattern.exec(name);
      if (match === null) throw new Error(`Migration ${name} is not named NNNN_name.sql: rename it.`);
      const text = readFileSync(join(directory, name), 'utf8').replaceAll('\r\n', '\n');
      return {
        name,
        number: Number(match[1]),
        digest: createHash('sha256').update(text).digest('hex'),
        statements: text
          .split(breakpoint)
          .map((statement) => statement.trim())
          .filter((statement) => statement !== ''),
      };
    });
  for (const [index, file] of files.entries()) {
    const previous = files[index - 1];
    if (previous !== undefined && previous.number === file.number) {
      throw new Error(`Migrations ${previous.name} and ${file.name} have the same number: renumber the newer one.`);
    }
  }
  return files;
}
