/** From the arguments of a field to what a use case takes: checked by the very schema that REST checks with. */
import type { z } from 'zod';
import { fault, pointerOf } from '../../shared/fault.ts';
import { Refusal } from '../../shared/refusal.ts';

/** GraphQL cannot tell "not given" from null; the schemas can, and a null member means not given. */
function withoutNulls(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(withoutNulls);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .filter(([, member]) => member !== null && member !== undefined)
      .map(([key, member]) => [key, withoutNulls(member)]),
  );
}

/**
 * @param argument its name, for the pointers of the faults
 * @throws Refusal request-invalid
 */
export function parseArgument<Schema extends z.ZodType>(
  schema: Schema,
  argument: string,
  value: unknown,
): z.output<Schema> {
  const parsed = schema.safeParse(withoutNulls(value));
  if (parsed.success) return parsed.data;
  const faults = parsed.error.issues.map(({ path, message }) =>
    fault('structure-invalid', pointerOf([argument, ...path]), undefined, message),
  );
  throw new Refusal('request-invalid', `${faults.length} part(s) of the argument ${argument} are not valid.`, {
    faults,
  });
}

/**
 * A number of rows to give.
 * @throws Refusal request-invalid
 */
export function checkFirst(first: number, most = 500): number {
  if (first >= 1 && first <= most) return first;
  throw new Refusal('request-invalid', `first is ${first}; it must be from 1 to ${most}.`);
}
