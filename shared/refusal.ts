/** A refusal with a stable problem code: use cases throw it, REST and GraphQL present it. */
import { type Fault, type RequestProblemCode, requestProblems } from './problems.ts';

export class Refusal extends Error {
  readonly code: RequestProblemCode;
  readonly faults: readonly Fault[];
  /** Members added to the problem document, such as the receipt of a refused submission. */
  readonly extra: Readonly<Record<string, unknown>>;
  /** When to try again, s; null when trying again does not help. */
  readonly retryAfterSeconds: number | null;

  /**
   * @param code problem code; fixes status, title and general remedy
   * @param detail what happened this time, in one sentence
   */
  constructor(
    code: RequestProblemCode,
    detail: string,
    more: {
      faults?: readonly Fault[];
      extra?: Readonly<Record<string, unknown>>;
      retryAfterSeconds?: number;
      cause?: unknown;
    } = {},
  ) {
    super(`${requestProblems[code].title}: ${detail}`, { cause: more.cause });
    this.name = 'Refusal';
    this.code = code;
    this.faults = more.faults ?? [];
    this.extra = more.extra ?? {};
    this.retryAfterSeconds = more.retryAfterSeconds ?? null;
  }
}
