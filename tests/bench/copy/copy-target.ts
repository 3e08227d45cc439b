/** A bare table that takes rows by COPY, committed when it returns: the floor of intake. */
import { EventEmitter, once } from 'node:events';
import { join } from 'node:path';
import { PGlite } from '@electric-sql/pglite';
import pg from 'pg';
import type { BenchDatabase } from '../bench-database.ts';

export interface CopyTarget {
  /** @param rows as binaryRows makes them */
  copy(rows: Buffer): Promise<void>;
  close(): Promise<void>;
}

const createTable = 'create table bare (label text, content jsonb, positions bytea)';

export function openCopyTarget({ url, directory }: BenchDatabase): Promise<CopyTarget> {
  return url === null ? openEmbedded(join(directory, 'bare')) : openServer(url);
}

async function openServer(url: string): Promise<CopyTarget> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  await client.query(createTable);
  return {
    async copy(rows) {
      const copy = client.query(new CopyIn('copy bare from stdin (format binary)', rows));
      await once(copy, 'done');
    },
    close: () => client.end(),
  };
}

async function openEmbedded(directory: string): Promise<CopyTarget> {
  const client = await PGlite.create(directory, { relaxedDurability: false });
  await client.query(createTable);
  return {
    async copy(rows) {
      const blob = new Blob([new Uint8Array(rows)]);
      await client.query("copy bare from '/dev/blob' (format binary)", [], { blob });
    },
    close: () => client.close(),
  };
}

/** What a connection of node-postgres has for COPY, beyond its type. */
interface CopyConnection {
  query(text: string): void;
  sendCopyFromChunk(chunk: Buffer): void;
  endCopyFrom(): void;
}

const chunkBytes = 1024 * 1024;

/** A query of node-postgres that answers the server's readiness with its rows; emits done, or error. */
class CopyIn extends EventEmitter {
  readonly #text: string;
  readonly #rows: Buffer;

  constructor(text: string, rows: Buffer) {
    super();
    this.#text = text;
    this.#rows = rows;
  }

  submit(connection: unknown): void {
    (connection as CopyConnection).query(this.#text);
  }

  handleCopyInResponse(connection: CopyConnection): void {
    for (let from = 0; from < this.#rows.byteLength; from += chunkBytes) {
      connection.sendCopyFromChunk(this.#rows.subarray(from, from + chunkBytes));
    }
    connection.endCopyFrom();
  }

  handleCommandComplete(): void {}

  handleReadyForQuery(): void {
    this.emit('done');
  }

  handleError(error: Error): void {
    this.emit('error', error);
  }
}
