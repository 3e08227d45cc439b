/** The RFC 9457 problem of a code. */
import { type Fault, type Problem, type RequestProblemCode, requestProblems } from './problems.ts';
import type { Refusal } from './refusal.ts';

/** @param instance id of the request; null where there is none */
export function problemOf(
  code: RequestProblemCode,
  detail: string,
  instance: string | null,
  faults: readonly Fault[],
): Problem {
  const { status, title, remedy } = requestProblems[code];
  return {
    type: `/v1/problems#${code}`,
    title,
    status,
    code,
    detail,
    remedy,
    ...(instance === null ? {} : { instance }),
    ...(faults.length > 0 ? { errors: [...faults] } : {}),
  };
}

/** What a refusal says beyond the title of its code. */
export function detailOf({ code, message }: Refusal): string {
  return message.slice(requestProblems[code].title.length + 2);
}
