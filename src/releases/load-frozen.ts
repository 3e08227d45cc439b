/** Reads from the database what a release fixes: revisions, tracks, derivations, gear and labs. */
import { eq, sql } from 'drizzle-orm';
import type { DerivedShot } from '../../shared/derivation.ts';
import { gearTables } from '../access/gear-tables.ts';
import { gearFields } from '../intake/gear-references.ts';
import { decodeDoubles, decodeFrames, decodeSparse } from '../intake/track-bytes.ts';
import { compareCodeUnits } from '../pooling/compare-code-units.ts';
import type { Database } from '../store/database.ts';
import { derivation, lab, shot, shotRevision, track } from '../store/schema.ts';
import type { DerivedFrozenShot, FrozenGear, FrozenLab, FrozenTrack } from './frozen-shot.ts';

/** One shot of a release by the rows it fixes. */
export interface MemberRows {
  readonly labId: number;
  readonly ordinal: number;
  readonly revisionId: number;
  readonly derivationId: number;
  readonly strokeStyleTerm: string | null;
  readonly gripTerm: string | null;
}

export interface LoadedShot extends DerivedFrozenShot {
  readonly revisionId: number;
  /** First receipt of the revision in milliseconds since 1970; for judging margins, never written into a release. */
  readonly receivedAt: number;
}

export interface LoadedRelease {
  /** By lab slug (code units), then ordinal. */
  readonly shots: readonly LoadedShot[];
  readonly gear: readonly FrozenGear[];
  /** By slug. */
  readonly labs: readonly FrozenLab[];
}

const chunkSize = 500;

/** By kind and revision, as `trackKey` writes it. */
async function loadTracks(db: Database, revisionIds: readonly number[]): Promise<Map<string, FrozenTrack>> {
  const rows = await db
    .select()
    .from(track)
    .where(sql`${track.revisionId} = any(${sql.param([...revisionIds])}::bigint[])`);
  return new Map(
    rows.map((row) => [
      trackKey(row.kind, row.revisionId),
      {
        unit: row.unit,
        positions: decodeDoubles(row.positions),
        frames: decodeFrames(row),
        times: row.times === null ? null : { unit: row.timeUnit ?? 's', values: decodeDoubles(row.times) },
        gaps: row.gaps === null ? null : decodeSparse(row.gaps),
      },
    ]),
  );
}

const trackKey = (kind: string, revisionId: number): string => `${kind}/${revisionId}`;

async function loadShots(db: Database, members: readonly MemberRows[]): Promise<LoadedShot[]> {
  const derivationIds = members.map(({ derivationId }) => derivationId);
  const rows = await db
    .select({
      lab: lab.slug,
      ordinal: shot.ordinal,
      revision: shotRevision.number,
      revisionId: shotRevision.id,
      content: shotRevision.content,
      receivedAt: shotRevision.firstReceivedAt,
      contentHash: sql<string>`encode(${shotRevision.contentHash}, 'hex')`,
      derived: derivation.derived,
    })
    .from(derivation)
    .innerJoin(shotRevision, eq(shotRevision.id, derivation.revisionId))
    .innerJoin(shot, eq(shot.id, shotRevision.shotId))
    .innerJoin(lab, eq(lab.id, shot.labId))
    .where(sql`${derivation.id} = any(${sql.param(derivationIds)}::bigint[])`);
  const tracks = await loadTracks(
    db,
    rows.map(({ revisionId }) => revisionId),
  );
  const termsOf = new Map(members.map((member) => [member.revisionId, member]));
  return rows.map((row) => ({
    lab: row.lab,
    ordinal: row.ordinal,
    terms: {
      strokeStyle: termsOf.get(row.revisionId)?.strokeStyleTerm ?? null,
      grip: termsOf.get(row.revisionId)?.gripTerm ?? null,
    },
    revision: row.revision,
    revisionId: row.revisionId,
    receivedAt: row.receivedAt.getTime(),
    // Never parsed again: a default added to the schema later must not change an older release.
    content: row.content as LoadedShot['content'],
    contentHash: row.contentHash,
    track: tracks.get(trackKey('cue', row.revisionId)) ?? null,
    ballTrack: tracks.get(trackKey('ball', row.revisionId)) ?? null,
    // Written by this service under its own schema; the verification recomputes every value of it.
    derived: row.derived as DerivedShot,
  }));
}

async function loadGear(db: Database, shots: readonly LoadedShot[]): Promise<FrozenGear[]> {
  const labs = [...new Set(shots.map((each) => each.lab))];
  const gear: FrozenGear[] = [];
  for (const [kind, table] of Object.entries(gearTables)) {
    const field = gearFields[kind as keyof typeof gearTables];
    const named = new Set(shots.map((each) => `${each.lab}/${each.content[field]}`));
    const rows = await db
      .select({ lab: lab.slug, name: table.name, version: table.version, content: table.content })
      .from(table)
      .innerJoin(lab, eq(lab.id, table.labId))
      .where(sql`${lab.slug} = any(${sql.param(labs)}::text[])`);
    for (const row of rows) {
      if (named.has(`${row.lab}/${row.name}@${row.version}`)) gear.push({ ...row, kind } as FrozenGear);
    }
  }
  return gear;
}

async function loadLabs(db: Database, slugs: readonly string[]): Promise<FrozenLab[]> {
  const rows = await db
    .select({
      lab: lab.slug,
      title: lab.title,
      dataLicence: lab.dataLicence,
      consentReference: lab.consentReference,
    })
    .from(lab)
    .where(sql`${lab.slug} = any(${sql.param([...slugs])}::text[])`);
  return rows.sort((first, second) => compareCodeUnits(first.lab, second.lab));
}

/** Everything that the files of a release are made of, from the rows it fixes. */
export async function loadFrozen(db: Database, members: readonly MemberRows[]): Promise<LoadedRelease> {
  const shots: LoadedShot[] = [];
  for (let start = 0; start < members.length; start += chunkSize) {
    shots.push(...(await loadShots(db, members.slice(start, start + chunkSize))));
  }
  shots.sort((first, second) => compareCodeUnits(first.lab, second.lab) || first.ordinal - second.ordinal);
  const gear = await loadGear(db, shots);
  const labs = await loadLabs(db, [...new Set(shots.map((each) => each.lab))]);
  return { shots, gear, labs };
}
