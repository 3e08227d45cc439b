/** Every published method version, so that an old release can be recomputed for ever. */
import type { DerivedShot } from '../../shared/derivation.ts';
import type { Fault } from '../../shared/problems.ts';
import type { Shot } from '../../shared/shot.ts';
import { deriveShot, methodVersion } from '../derivation/derive-shot.ts';
import type { UsedGear } from '../derivation/gear.ts';

export type Derive = (shot: Shot, gear: UsedGear) => { derived: DerivedShot; faults: Fault[] };

export const knownMethods: ReadonlyMap<string, Derive> = new Map([[methodVersion, deriveShot]]);
