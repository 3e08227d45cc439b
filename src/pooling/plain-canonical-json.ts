/**
 * Canonical JSON of values without anything unusual, as most shots are: the language writes numbers and text as RFC 8785
 * asks for, so only the members have to be put in order.
 */

/** What the language would write otherwise, or not at all. */
const unusual = Symbol('unusual');

/** @returns null for a value that needs the whole of RFC 8785 or has no canonical form */
export function plainCanonicalJson(value: unknown): string | null {
  const ordered = inOrder(value);
  if (ordered === unusual || ordered === undefined) return null;
  const text = JSON.stringify(ordered);
  // Half of a surrogate pair, which the language writes as an escape.
  return text.includes('\\ud') ? null : text;
}

function inOrder(value: unknown): unknown {
  if (value === null || typeof value === 'string' || typeof value === 'boolean') return value;
  if (typeof value === 'number') return Number.isFinite(value) ? value : unusual;
  if (typeof value !== 'object') return value === undefined ? value : unusual;
  if (Array.isArray(value)) {
    const members: unknown[] = [];
    for (const member of value as readonly unknown[]) {
      const ordered = inOrder(member);
      if (ordered === unusual || ordered === undefined) return unusual;
      members.push(ordered);
    }
    return members;
  }
  if (Object.getPrototypeOf(value) !== Object.prototype || 'toJSON' in value) return unusual;
  const object: Record<string, unknown> = {};
  for (const key of Object.keys(value).sort()) {
    // Objects keep keys that look like numbers in an order of their own.
    if (startsWithDigit(key) || key === '__proto__') return unusual;
    const ordered = inOrder((value as Record<string, unknown>)[key]);
    if (ordered === unusual) return unusual;
    if (ordered !== undefined) object[key] = ordered;
  }
  return object;
}

function startsWithDigit(key: string): boolean {
  const first = key.charCodeAt(0);
  return first >= 0x30 && first <= 0x39;
}
