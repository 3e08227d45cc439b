/** Cursors of lists: opaque texts that say where a page ended (Relay cursor connections). */
import { Refusal } from '../../shared/refusal.ts';

type Part = string | number | null;

/** A cursor of the values that the list is ordered by. */
export function writeCursor(parts: readonly Part[]): string {
  return Buffer.from(JSON.stringify(parts)).toString('base64url');
}

/**
 * The values of a cursor that this server wrote.
 *
 * @param kinds of each part: 'text', 'instant', 'count', or 'numberOrNull'
 * @throws Refusal request-invalid
 */
export function readCursor(text: string, kinds: readonly ('text' | 'instant' | 'count' | 'numberOrNull')[]): Part[] {
  let parts: unknown;
  try {
    parts = JSON.parse(Buffer.from(text, 'base64url').toString('utf8'));
  } catch {
    throw notOurs();
  }
  if (!Array.isArray(parts) || parts.length !== kinds.length) throw notOurs();
  return kinds.map((kind, place) => {
    const part: unknown = parts[place];
    if (kind === 'text' && typeof part === 'string' && !part.includes('\0')) return part;
    if (kind === 'instant' && typeof part === 'string' && !Number.isNaN(Date.parse(part))) {
      return new Date(part).toISOString();
    }
    if (kind === 'count' && Number.isInteger(part) && Math.abs(part as number) < 1e9) return part as number;
    if (kind === 'numberOrNull' && typeof part === 'number') return part;
    if (kind === 'numberOrNull' && part === null) return part;
    throw notOurs();
  });
}

function notOurs(): Refusal {
  return new Refusal('request-invalid', 'after is not a cursor of this list; take endCursor of the page before.');
}

export interface Connection<Node> {
  readonly edges: readonly { readonly cursor: string; readonly node: Node }[];
  readonly nodes: readonly Node[];
  readonly pageInfo: {
    readonly hasNextPage: boolean;
    readonly hasPreviousPage: false;
    readonly startCursor: string | null;
    readonly endCursor: string | null;
  };
}

/** A page as a connection; `rows` may hold one more than was asked for, which only tells that there are more. */
export function connectionOf<Node>(
  rows: readonly Node[],
  first: number,
  cursorOf: (node: Node) => string,
): Connection<Node> {
  const nodes = rows.slice(0, first);
  const edges = nodes.map((node) => ({ cursor: cursorOf(node), node }));
  return {
    edges,
    nodes,
    pageInfo: {
      hasNextPage: rows.length > first,
      hasPreviousPage: false,
      startCursor: edges[0]?.cursor ?? null,
      endCursor: edges.at(-1)?.cursor ?? null,
    },
  };
}
