/** gear.json: every rig, cue and table version that a shot of the release names. */
import { z } from 'zod';
import { cueContentSchema, rigContentSchema, tableContentSchema } from '../../shared/gear.ts';
import { slugSchema } from '../../shared/measure.ts';
import { canonicalJson } from '../pooling/canonical.ts';
import type { FrozenGear } from './frozen-shot.ts';

export const gearFileName = 'gear.json';

const named = { lab: slugSchema, name: slugSchema, version: z.int().min(1) };
export const frozenGearSchema = z.discriminatedUnion('kind', [
  z.strictObject({ ...named, kind: z.literal('rigs'), content: rigContentSchema }),
  z.strictObject({ ...named, kind: z.literal('cues'), content: cueContentSchema }),
  z.strictObject({ ...named, kind: z.literal('tables'), content: tableContentSchema }),
]);

function order(first: FrozenGear, second: FrozenGear): number {
  for (const key of ['lab', 'kind', 'name'] as const) {
    if (first[key] !== second[key]) return first[key] < second[key] ? -1 : 1;
  }
  return first.version - second.version;
}

/** Canonical JSON, in the order lab, kind, name, version. */
export function renderGear(gear: readonly FrozenGear[]): Uint8Array {
  return new TextEncoder().encode(canonicalJson({ gear: [...gear].sort(order) }));
}

/** @throws when the bytes are not the canonical JSON of a gear file, in its order */
export function readGear(bytes: Uint8Array): FrozenGear[] {
  const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  const written: unknown = JSON.parse(text);
  const { gear } = z.strictObject({ gear: z.array(frozenGearSchema) }).parse(written);
  const sorted = gear.every((piece, index) => index === 0 || order(gear[index - 1] ?? piece, piece) < 0);
  if (!sorted) throw new Error('gear is not in the order lab, kind, name, version, each once');
  if (canonicalJson(written) !== text) throw new Error('not canonical JSON (RFC 8785)');
  return gear;
}
