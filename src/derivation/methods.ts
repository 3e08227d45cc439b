/** Method versions: the published ones, and those that uploads are derived under. */
import type { DerivedShot } from '../../shared/derivation.ts';
import type { Fault } from '../../shared/problems.ts';
import type { Shot } from '../../shared/shot.ts';
import { deriveShot } from './derive-shot.ts';
import type { UsedGear } from './gear.ts';
import { type MethodChoices, methodOne, methodTwo, newestChoices } from './method-choices.ts';

export type Derive = (shot: Shot, gear: UsedGear) => { derived: DerivedShot; faults: Fault[] };

/** Method versions by name, oldest first; each writes its own name into what it derives. */
export type Methods = ReadonlyMap<string, Derive>;

/** Every published version, so that a release frozen under an old one can be recomputed for ever. */
export const publishedMethods: Methods = new Map(
  [methodOne, methodTwo].map((choices) => [choices.version, deriveBy(choices)]),
);

function deriveBy(choices: MethodChoices): Derive {
  return (shot, gear) => deriveShot(shot, gear, choices);
}

/** What an upload is derived under: the active version decides, the others are kept beside it. */
export interface MethodsInUse {
  readonly active: Derive;
  readonly beside: readonly Derive[];
}

/** The name of the newest version. */
export function newestMethod(methods: Methods): string {
  const newest = [...methods.keys()].at(-1);
  if (newest === undefined) throw new Error('There is no method version.');
  return newest;
}

/**
 * The active version, and the newest one beside it until it is activated.
 *
 * @returns null when this code does not have the active version
 */
export function methodsInUse(methods: Methods, activeVersion: string): MethodsInUse | null {
  const active = methods.get(activeVersion);
  const newest = methods.get(newestMethod(methods));
  if (active === undefined || newest === undefined) return null;
  return { active, beside: newest === active ? [] : [newest] };
}

/** The newest published version alone. */
export const newestOnly: MethodsInUse = {
  active: publishedMethods.get(newestMethod(publishedMethods)) ?? deriveBy(newestChoices),
  beside: [],
};
