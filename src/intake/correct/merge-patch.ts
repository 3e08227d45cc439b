/** JSON merge patch (RFC 7396). */

const isObject = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** The target with the patch applied; neither is changed. */
export function mergePatch(target: unknown, patch: unknown): unknown {
  if (!isObject(patch)) return patch;
  const kept = Object.entries(isObject(target) ? target : {}).filter(([key]) => patch[key] !== null);
  const merged = new Map(kept);
  for (const [key, value] of Object.entries(patch)) {
    if (value !== null) merged.set(key, mergePatch(merged.get(key), value));
  }
  return Object.fromEntries(merged);
}
