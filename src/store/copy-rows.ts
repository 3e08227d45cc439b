/** COPY of binary rows into a table, inside a transaction, on both databases. */
import type { Writable } from 'node:stream';
import type { PGliteInterface } from '@electric-sql/pglite';
import type { Client } from 'pg';
import { BinaryRows } from './binary-rows.ts';
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

/** Room for rows that is used again: memory of this size that is asked for and let go costs more than filling it. */
const rooms: BinaryRows[] = [];
const roomsKept = 4;
const largestKept = 8 * 1024 * 1024;

/**
 * @param target table and columns, such as `shot (id, label)`; ours, never sent by anybody
 * @param write writes rows with a field for each column in this order
 * @throws what the database throws, such as a violated constraint
 */
export async function copyRows(tx: Transaction, target: string, write: (rows: BinaryRows) => void): Promise<void> {
  const rows = rooms.pop() ?? new BinaryRows();
  rows.clear();
  write(rows);
  if (rows.byteLength > 0) await copy(tx, target, rows);
  // Not after a failure: the socket may still be reading the rows.
  if (rooms.length < roomsKept && rows.byteLength <= largestKept) rooms.push(rows);
}

async function copy(tx: Transaction, target: string, rows: BinaryRows): Promise<void> {
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
  readonly stream: Writable;
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
    const { stream } = connection;
    const send = (bytes: Buffer): void => {
      const head = Buffer.alloc(5);
      head.write('d');
      head.writeInt32BE(4 + bytes.byteLength, 1);
      stream.write(head);
      stream.write(bytes);
    };
    // Written as they are: the connection's own method would copy each piece first.
    stream.cork();
    send(signature);
    for (let from = 0; from < this.#rows.byteLength; from += chunkBytes) {
      send(this.#rows.subarray(from, from + chunkBytes));
    }
    send(end);
    connection.endCopyFrom();
    stream.uncork();
  }

  handleCommandComplete(): void {}

  handleReadyForQuery(): void {
    this.#resolve();
  }

  handleError(error: Error): void {
    this.#reject(error);
  }
}
