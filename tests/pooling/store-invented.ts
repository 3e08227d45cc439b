/** Puts invented rows into a database as intake would leave them: shot, revision, derivation and hot row. */
import { randomUUID } from 'node:crypto';
import type { DerivedShot } from '../../shared/derivation.ts';
import { flagsOfMask } from '../../shared/flags.ts';
import { newestChoices } from '../../src/derivation/method-choices.ts';
import type { ShotRow } from '../../src/pooling/columns.ts';
import { hotSource } from '../../src/pooling/hot-source.ts';
import type { Database } from '../../src/store/database.ts';
import {
  cue,
  derivation,
  hotShot,
  lab,
  rig,
  shot,
  shotRevision,
  submission,
  tableSetup,
} from '../../src/store/schema.ts';

export interface StoredShot {
  readonly row: ShotRow;
  readonly labId: number;
  readonly revisionId: number;
  readonly derivationId: number;
}

/** Stores the rows of one lab, which is made first. @param isShared which of them are shared */
export async function storeInvented(
  db: Database,
  slug: string,
  rows: readonly ShotRow[],
  isShared: (row: ShotRow) => boolean,
): Promise<StoredShot[]> {
  const [madeLab] = await db
    .insert(lab)
    .values({ slug, title: slug, dataLicence: 'CC0-1.0', consentReference: 'E-1', version: 1, sharedVersion: 1 })
    .returning({ id: lab.id });
  const labId = only(madeLab).id;
  const gear = { labId, version: 1, content: {} };
  const [madeRig] = await db
    .insert(rig)
    .values({ ...gear, name: 'main' })
    .returning({ id: rig.id });
  const [madeCue] = await db
    .insert(cue)
    .values({ ...gear, name: 'house' })
    .returning({ id: cue.id });
  const [madeTable] = await db
    .insert(tableSetup)
    .values({ ...gear, name: 'club' })
    .returning({ id: tableSetup.id });
  const used = { rigId: only(madeRig).id, cueId: only(madeCue).id, tableId: only(madeTable).id };
  const submissionId = randomUUID();
  await db.insert(submission).values({
    id: submissionId,
    labId,
    receivedAt: new Date(0),
    mediaType: 'application/json',
    dryRun: false,
    accept: 'all',
    revise: false,
    stored: true,
    createdCount: rows.length,
    unchangedCount: 0,
    revisedCount: 0,
    rejectedCount: 0,
  });
  const stored: StoredShot[] = [];
  for (const row of rows) {
    const { label, ordinal } = row;
    const shared = isShared(row);
    const receivedAt = new Date(row.receivedAt);
    const [madeShot] = await db
      .insert(shot)
      .values({ labId, label, ordinal, shared, createdAt: receivedAt })
      .returning({ id: shot.id });
    const shotId = only(madeShot).id;
    const { player, strokeStyle, grip, sessionDate } = row;
    const content = { label, rig: row.rig, player, strokeStyle, grip, sessionDate };
    const sent = Object.fromEntries(Object.entries(content).filter(([, value]) => value !== null));
    const [madeRevision] = await db
      .insert(shotRevision)
      .values({
        shotId,
        number: 1,
        submissionId,
        content: row.straight ? sent : { ...sent, straight: false },
        contentHash: new Uint8Array(32),
        ...used,
        tableId: row.table === null ? null : used.tableId,
        receivedAt,
        firstReceivedAt: receivedAt,
      })
      .returning({ id: shotRevision.id });
    const revisionId = only(madeRevision).id;
    const [madeDerivation] = await db
      .insert(derivation)
      .values({ revisionId, methodVersion: newestChoices.version, derived: derivedOf(row) })
      .returning({ id: derivation.id });
    const { cueSpeed, cueAcceleration, contactTime, tipOffset, outcomeDistance } = row.uncertainties;
    await db.insert(hotShot).values({
      ...row.variables,
      labId,
      ordinal,
      shotId,
      revisionId,
      label,
      shared,
      receivedAt,
      source: row.fromTrack ? hotSource.track : hotSource.reported,
      flags: row.flags,
      ...used,
      tableId: row.table === null ? null : used.tableId,
      straight: row.straight,
      player,
      strokeStyle,
      grip,
      sessionDate,
      uCueSpeed: cueSpeed,
      uCueAcceleration: cueAcceleration,
      uContactTime: contactTime,
      uTipOffset: tipOffset,
      uOutcomeDistance: outcomeDistance,
      covarianceSpeedAcceleration: row.covarianceSpeedAcceleration,
    });
    stored.push({ row, labId, revisionId, derivationId: only(madeDerivation).id });
  }
  return stored;
}

/** The derivation from which the row could have come. */
function derivedOf({ variables, uncertainties, ...row }: ShotRow): DerivedShot {
  const estimate = (name: keyof typeof uncertainties) => {
    const value = variables[name];
    const standardUncertainty = uncertainties[name] ?? 0;
    return value === null
      ? null
      : { value, standardUncertainty, lower: value - 2 * standardUncertainty, upper: value + 2 * standardUncertainty };
  };
  const { countedContactTime, objectBallDistance, ballSpeed, cueMass, elevation, tipHeight } = variables;
  return {
    methodVersion: newestChoices.version,
    source: row.fromTrack ? 'track' : 'reported',
    cueSpeed: estimate('cueSpeed'),
    cueAcceleration: estimate('cueAcceleration'),
    covarianceSpeedAcceleration: row.covarianceSpeedAcceleration,
    contactTime: estimate('contactTime'),
    contactTimeBounds: null,
    contactTimeReadings: [],
    firstContact: null,
    countedContactTime,
    tipOffset: estimate('tipOffset'),
    tipHeight:
      tipHeight === null ? null : { value: tipHeight, standardUncertainty: 0, lower: tipHeight, upper: tipHeight },
    objectBallDistance,
    outcomeDistance: estimate('outcomeDistance'),
    outcomeBound: null,
    ended: null,
    ballSpeed,
    cueMass,
    elevation,
    ball: null,
    expected: {
      judged: false,
      reason: 'noCalibration',
      missing: [],
      stopBand: 0.028575,
      observedClass: null,
      models: [],
      restitution: null,
      effectiveCueMass: null,
    },
    fit: null,
    budget: [],
    compared: [],
    reasons: {},
    flags: flagsOfMask(row.flags),
  };
}

function only<Item>(item: Item | undefined): Item {
  if (item === undefined) throw new Error('nothing was inserted');
  return item;
}
