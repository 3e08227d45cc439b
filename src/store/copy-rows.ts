/** COPY of binary rows into a table, inside a transaction, on both databases. */
import type { PGliteInterface } from '@electric-sql/pglite';
import type { Client } from 'pg';
import type { BinaryRows } from './binary-rows.ts';
import type { Transaction } from './database.ts';

const signature = Buffer.from('PGCOPY\n\xff\r\n\0\0\0\0\0\0\0\0\0', 'latin1');
const end = Buffer.from([0xff, 0xff]);
const chunkBytes = 256 * 1024;

/** The connection of a transaction, which drizzle keeps to itself: it has no COPY of its own. */
type Connection = Client | Pick<PGliteInterface, 'query' | 'exec'>;

function connectionOf(tx: Transaction): Connection {
  const { session } = tx as unknown as { readonly session?: { readonly client?: Connection } };
  if (session?.client === undefined) throw new Error('The transaction does not tell its connection.');
  return session.client;
}

/**
 * @param target table and columns, such as `shot (id, label)`; ours, never sent by anybody
 * @param rows a row for each shot, with a field for each column in this order
 * @throws what the database throws, such as a violated constraint
 */
export async function copyRows(tx: Transaction, target: string, rows: BinaryRows): Promise<void> {
  if (rows.byteLength === 0) return;
  const connection = connectionOf(tx);
  const statement = (from: string) => `copy ${target} from ${from} (format binary)`;
  if ('exec' in connection) {
    const blob = new Blob([signature, new Uint8Array(rows.bytes), end]);
    await connection.query(statement("'/dev/blob'"), [], { blob });
    return;
  }
  await new Promise<void>((resolve, reject) => {
    // A query may be anything that answers what the server says; this is the part of the protocol that COPY needs.
    connection.query(new CopyIn(statement('stdin'), rows.bytes, resolve, reject));
  });
}

/** What a connection of node-postgres has for COPY, beyond its type. */
interface CopyConnection {
  query(text: string): void;
  sendCopyFromChunk(chunk: Buffer): void;
  endCopyFrom(): void;
}

/** A query of node-postgres that answers the server's readiness for data with the rows. */
class CopyIn {
  readonly #statement: string;
  readonly #rows: Buffer;
  readonly #resolve: () => void;
  readonly #reject: (error: Error) => void;

  constructor(statement: string, rows: Buffer, resolve: () => void, reject: (error: Error) => void) {
    this.#statement = statement;
    this.#rows = rows;
    this.#resolve = resolve;
    this.#reject = reject;
  }

  submit(connection: unknown): void {
    (connection as CopyConnection).query(this.#statement);
  }

  handleCopyInResponse(connection: CopyConnection): void {
    connection.sendCopyFromChunk(signature);
    for (let from = 0; from < this.#rows.byteLength; from += chunkBytes) {
      connection.sendCopyFromChunk(this.#rows.subarray(from, from + chunkBytes));
    }
    connection.sendCopyFromChunk(end);
    connection.endCopyFrom();
  }

  handleCommandComplete(): void {}

  handleReadyForQuery(): void {
    this.#resolve();
  }

  handleError(error: Error): void {
    this.#reject(error);
  }
}
