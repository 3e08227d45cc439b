/** What the wire contract says in words about one field. */
import type { z } from 'zod';

interface Definition {
  readonly innerType?: z.ZodType;
  readonly shape?: Readonly<Record<string, z.ZodType>>;
  readonly element?: z.ZodType;
}

const definitionOf = (schema: z.ZodType): Definition => schema.def as unknown as Definition;

/** Description of the schema at a path, or undefined when there is none. */
export function describedAt(schema: z.ZodType, path: readonly PropertyKey[]): string | undefined {
  const described = schema.meta()?.description;
  const { innerType, shape, element } = definitionOf(schema);
  if (innerType !== undefined) return describedAt(innerType, path) ?? described;
  const [key, ...rest] = path;
  if (key === undefined) return described;
  const inner = shape !== undefined && Object.hasOwn(shape, key) ? shape[String(key)] : element;
  return inner === undefined ? undefined : describedAt(inner, rest);
}
