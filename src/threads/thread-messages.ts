/** What the pool and its threads say to each other. */
import type { Fault, RequestProblemCode } from '../../shared/problems.ts';
import { requestProblems } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';

/** What a thread is given to do. */
export interface ThreadJob {
  readonly module: string;
  readonly input: unknown;
}

/** A refusal as plain values: its class does not survive the copy. */
export interface RefusalMessage {
  readonly kind: 'refusal';
  readonly code: RequestProblemCode;
  readonly detail: string;
  readonly faults: readonly Fault[];
  readonly extra: Readonly<Record<string, unknown>>;
  readonly retryAfterSeconds: number | null;
}

export type FromThread =
  | { readonly kind: 'progress'; readonly progress: unknown }
  | { readonly kind: 'output'; readonly output: unknown }
  | { readonly kind: 'failure'; readonly error: unknown }
  | RefusalMessage;

export function refusalMessage({ code, message, faults, extra, retryAfterSeconds }: Refusal): RefusalMessage {
  // A refusal writes the title of its code before the detail.
  const detail = message.slice(requestProblems[code].title.length + 2);
  return { kind: 'refusal', code, detail, faults, extra, retryAfterSeconds };
}

export function refusalOf({ code, detail, faults, extra, retryAfterSeconds }: RefusalMessage): Refusal {
  return new Refusal(code, detail, { faults, extra, ...(retryAfterSeconds === null ? {} : { retryAfterSeconds }) });
}
