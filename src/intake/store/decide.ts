/** What becomes of one prepared shot, given what the lab has stored. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { ShotState } from '../../../shared/submission.ts';
import { locateLate } from '../read/locate.ts';
import type { SentPlace } from '../read/sent-shot.ts';
import { trackDuplicate } from '../seen-in-submission.ts';
import type { SpooledShot } from '../spooled-shot.ts';
import { type TrackKind, trackKinds } from '../track-bytes.ts';
import type { StoredShot } from './find-stored-shots.ts';

export interface Decision {
  readonly shot: SpooledShot;
  readonly state: ShotState;
  /** The stored shot with this label, or null. */
  readonly stored: StoredShot | null;
  readonly faults: readonly Fault[];
}

function takenFaults(shot: SpooledShot, stored: StoredShot | null, revise: boolean): Fault[] {
  if (stored === null || shot.label === null || shot.ready === null) return [];
  if (stored.withdrawn) {
    const expected = 'a label that no withdrawn shot has';
    return [
      fault('label-taken', '/label', shot.label, expected, 'The shot of this label was withdrawn: use a new label.'),
    ];
  }
  if (revise) return [];
  return [fault('label-taken', '/label', shot.label, 'the content stored under this label, or revise=true')];
}

/**
 * unchanged: the same content is stored under the label; created: the label is new; revised: other content and
 * revise=true; rejected: anything wrong.
 *
 * @param trackOwners label of the shot, stored or earlier in the submission, that has the same track of the kind, or null
 */
export function decide(
  shot: SpooledShot,
  stored: StoredShot | null,
  trackOwners: Readonly<Record<TrackKind, string | null>>,
  revise: boolean,
  columns: SentPlace['columns'],
): Decision {
  const same = stored !== null && !stored.withdrawn && shot.ready?.contentHash === stored.contentHash;
  // The second shot of a label is a mistake of the upload even when it says the same.
  if (same && !shot.faults.some(({ code }) => code === 'label-duplicate')) {
    return { shot, state: 'unchanged', stored, faults: [] };
  }
  const duplicate = trackKinds.flatMap((kind) => {
    const owner = trackOwners[kind];
    return owner === null || owner === shot.label ? [] : [trackDuplicate(kind, owner)];
  });
  const met = new Set(shot.faults.map(({ code }) => code));
  const late = [...duplicate, ...(same ? [] : takenFaults(shot, stored, revise))]
    .filter(({ code }) => !met.has(code))
    .map((one) => locateLate(one, shot, columns));
  const faults = [...shot.faults, ...late];
  if (faults.length > 0) return { shot, state: 'rejected', stored, faults };
  return { shot, state: stored === null ? 'created' : 'revised', stored, faults };
}
