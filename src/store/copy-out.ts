/** COPY (query) TO STDOUT (FORMAT binary) over a connection of the pg driver. */
import type { ClientBase, Submittable } from 'pg';

/** What the driver tells a query that is being answered; see pg/lib/query.js. */
class CopyOut implements Submittable {
  readonly #text: string;
  readonly #take: (bytes: Uint8Array) => void;
  readonly #settle: (error: Error | null) => void;
  #failure: Error | null = null;

  constructor(text: string, take: (bytes: Uint8Array) => void, settle: (error: Error | null) => void) {
    this.#text = text;
    this.#take = take;
    this.#settle = settle;
  }

  submit(connection: unknown): void {
    // The simple query protocol; the types of the driver leave this method out.
    (connection as { query(text: string): void }).query(this.#text);
  }

  handleCopyData({ chunk }: { readonly chunk: Uint8Array }): void {
    if (this.#failure !== null) return;
    try {
      this.#take(chunk);
    } catch (error) {
      // The rest of the rows still comes and is dropped; the connection stays usable.
      this.#failure = error instanceof Error ? error : new Error(String(error));
    }
  }

  handleCommandComplete(): void {}

  handleReadyForQuery(): void {
    this.#settle(this.#failure);
  }

  handleError(error: Error): void {
    this.#settle(error);
  }
}

/**
 * @param query a select without parameters
 * @param take gets every message while it is valid: whole rows, the first with the header before it, see copied-rows.ts
 */
export function copyOut(client: ClientBase, query: string, take: (bytes: Uint8Array) => void): Promise<void> {
  return new Promise((resolve, reject) => {
    const settle = (error: Error | null) => (error === null ? resolve() : reject(error));
    client.query(new CopyOut(`copy (${query}) to stdout (format binary)`, take, settle));
  });
}
