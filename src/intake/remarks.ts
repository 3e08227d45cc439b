/**
 * What a whole submission shows that no shot shows by itself. A remark refuses nothing: it says what to look at.
 *
 * A ball struck above its centre starts with topspin, which cloth and a full hit only lessen, so that it cannot draw
 * back by itself. One such shot may have met a cushion; many of them mean that heights or distances are read otherwise
 * than the rig says.
 */
import { sql } from 'drizzle-orm';
import { type FlagName, flags } from '../../shared/flags.ts';
import type { Database, Transaction } from '../store/database.ts';

/** Shots looked at, from the first. */
const mostShots = 200;
/** Fewer contradictions may be chance. */
const leastShots = 3;
/** Half a pool ball, m: less is a stop. */
const stopBand = 0.0286;
/** In standard uncertainties. */
const tolerance = 3;

interface JudgedShot extends Record<string, unknown> {
  readonly offset: number | null;
  readonly offset_uncertainty: number | null;
  readonly distance: number | null;
  readonly distance_uncertainty: number | null;
  /** JSON list of names. */
  readonly flags: string;
}

/** Whether the shot drew back (true) or followed (false) from above the centre; null where it tells nothing. */
function drewFromAbove(shot: JudgedShot): boolean | null {
  const { offset, distance } = shot;
  if (offset === null || distance === null) return null;
  const names = JSON.parse(shot.flags) as FlagName[];
  if (names.some((name) => flags[name].leftOut || name === 'outcomeCensored')) return null;
  if (offset <= tolerance * (shot.offset_uncertainty ?? 0)) return null;
  if (Math.abs(distance) <= stopBand + tolerance * (shot.distance_uncertainty ?? 0)) return null;
  return distance < 0;
}

const values = sql.raw(`
  (derived #>> '{tipOffset,value}')::float8 as offset,
  (derived #>> '{tipOffset,standardUncertainty}')::float8 as offset_uncertainty,
  (derived #>> '{outcomeDistance,value}')::float8 as distance,
  (derived #>> '{outcomeDistance,standardUncertainty}')::float8 as distance_uncertainty,
  (derived -> 'flags')::text as flags`);

/** Remarks on a submission, in words; none on most. */
export async function remarksOn(db: Database | Transaction, submissionId: string): Promise<string[]> {
  // Derived values of stored shots stand with their revisions, those by the first method.
  const { rows } = await db.execute<JudgedShot>(sql`
    with sent as (
      select shot_id, revision, derived from submission_shot
      where submission_id = ${submissionId}::uuid and state <> 'rejected' order by position limit ${mostShots}
    ), kept as (
      select distinct on (shot_revision.id) derivation.derived
      from sent
        join shot_revision on shot_revision.shot_id = sent.shot_id and shot_revision.number = sent.revision
        join derivation on derivation.revision_id = shot_revision.id
      where sent.derived is null
      order by shot_revision.id, derivation.id
    )
    select ${values} from sent where derived is not null
    union all
    select ${values} from kept`);
  const judged = rows.map(drewFromAbove).filter((drew) => drew !== null);
  const contradictory = judged.filter((drew) => drew).length;
  if (contradictory < leastShots || 2 * contradictory < judged.length) return [];
  return [
    `In ${contradictory} of ${judged.length} shots that can tell, the cue ball drew back though the tip was above its centre, where a ball gets topspin. If heights were read from the cloth or downwards, register a rig version that says so (heightReference, heightPositiveUp) and let the shots adopt it; also check the sign of the outcome distances, and give the distance of the first cushion where one was touched.`,
  ];
}
