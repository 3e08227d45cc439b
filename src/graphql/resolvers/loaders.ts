/** Fields that are loaded for all parents of a list at once: the number of SQL statements follows the shape of a query. */
import type { GearKind } from '../../../shared/gear.ts';
import { Refusal } from '../../../shared/refusal.ts';
import type { Release } from '../../../shared/release.ts';
import type { GearRecord } from '../../access/gear.ts';
import type { Lab } from '../../access/labs.ts';
import { gearOfLabs, labsBySlug } from '../../access/load-labs.ts';
import { countPlayers, countRecordingDays, countShots } from '../../intake/count-by-lab.ts';
import { explainShots } from '../../intake/explain-shot.ts';
import type { FoundShot } from '../../intake/find-shots.ts';
import { revisionsOfShots, shotsById, tracksOfShots } from '../../intake/shots.ts';
import type { TrackKind } from '../../intake/track-bytes.ts';
import type { TrackPoints } from '../../intake/track-frames.ts';
import type { StoredShotRecord } from '../../intake/visible-shots.ts';
import { releasesOfDatasets } from '../../releases/releases.ts';
import type { Asked, RequestContext } from '../context.ts';
import { thinTrack } from '../thin-track.ts';

type Dataset = { readonly slug: string };

const idsOf = (asked: readonly Asked<FoundShot>[]) => asked.map(({ obj }) => obj.id);

/** What was there a moment ago and was withdrawn or unshared since. */
const gone = (id: string) => new Refusal('not-found', `There is no shot ${id} for this token any more.`);

function gearOf(kind: GearKind, reference: (shot: FoundShot) => string | null) {
  return async (asked: readonly Asked<FoundShot>[], { db, principal }: RequestContext) => {
    const labs = [...new Set(asked.map(({ obj }) => obj.lab))];
    const references = [...new Set(asked.map(({ obj }) => reference(obj)).filter((one) => one !== null))];
    const found = await gearOfLabs(db, principal, kind, { labs, references });
    const byPlace = new Map(found.map((gear) => [`${gear.lab}/${gear.name}@${gear.version}`, gear]));
    return asked.map(({ obj }) => byPlace.get(`${obj.lab}/${reference(obj)}`) ?? null);
  };
}

function gearOfLab(kind: GearKind) {
  return async (asked: readonly Asked<Lab>[], { db, principal }: RequestContext) => {
    const found = await gearOfLabs(db, principal, kind, { labs: asked.map(({ obj }) => obj.slug) });
    return asked.map(({ obj }) => found.filter(({ lab }) => lab === obj.slug));
  };
}

function ofRecord<Value>(pick: (record: StoredShotRecord) => Value) {
  return async (asked: readonly Asked<FoundShot>[], { db, principal }: RequestContext) => {
    const found = await shotsById(db, principal, idsOf(asked));
    return asked.map(({ obj }) => {
      const record = found.get(obj.id);
      if (record === undefined) throw gone(obj.id);
      return pick(record);
    });
  };
}

function trackOf(kind: TrackKind) {
  return async (
    asked: readonly Asked<FoundShot, { readonly points?: number | null }>[],
    { db, principal }: RequestContext,
  ) => {
    const found = await tracksOfShots(
      db,
      principal,
      asked.map(({ obj }) => obj.id),
      kind,
    );
    return asked.map(({ obj, params }) => {
      const track = found.get(obj.id);
      return track === undefined ? null : shownTrack(track, params.points ?? null);
    });
  };
}

/** @throws Refusal request-invalid */
function shownTrack({ unit, positions, frames, times }: TrackPoints, points: number | null) {
  if (points !== null && points < 4) {
    throw new Refusal('request-invalid', `points is ${points}; a thinned track keeps at least 4 points.`);
  }
  const kept = points === null ? null : thinTrack(positions, points);
  const pick = (values: readonly number[] | undefined) =>
    values === undefined ? null : kept === null ? values : kept.map((place) => values[place]);
  return {
    unit,
    pointsSent: positions.length,
    positions: pick(positions),
    frames: pick(frames),
    times: pick(times?.values),
    timeUnit: times?.unit ?? null,
  };
}

export const loaders = {
  Lab: {
    rigs: gearOfLab('rigs'),
    cues: gearOfLab('cues'),
    tables: gearOfLab('tables'),
    players: async (asked: readonly Asked<Lab>[], { db, principal }: RequestContext) => {
      const found = await countPlayers(
        db,
        principal,
        asked.map(({ obj }) => obj.slug),
      );
      return asked.map(({ obj }) =>
        found.filter(({ lab }) => lab === obj.slug).map(({ key, shots }) => ({ code: key, shots })),
      );
    },
    recordingDays: async (asked: readonly Asked<Lab>[], { db, principal }: RequestContext) => {
      const found = await countRecordingDays(
        db,
        principal,
        asked.map(({ obj }) => obj.slug),
      );
      return asked.map(({ obj }) =>
        found.filter(({ lab }) => lab === obj.slug).map(({ key, shots }) => ({ date: key, shots })),
      );
    },
    shotCount: async (asked: readonly Asked<Lab>[], { db, principal }: RequestContext) => {
      const found = new Map(
        (
          await countShots(
            db,
            principal,
            asked.map(({ obj }) => obj.slug),
          )
        ).map(({ lab, shots }) => [lab, shots]),
      );
      return asked.map(({ obj }) => found.get(obj.slug) ?? 0);
    },
  },
  Shot: {
    lab: async (asked: readonly Asked<FoundShot>[], { db, principal }: RequestContext) => {
      const found = await labsBySlug(db, principal, [...new Set(asked.map(({ obj }) => obj.lab))]);
      return asked.map(({ obj }) => found.get(obj.lab));
    },
    rig: gearOf('rigs', ({ rig }) => rig),
    cue: gearOf('cues', ({ cue }) => cue),
    table: gearOf('tables', ({ table }) => table),
    revision: ofRecord(({ revision }) => revision),
    withdrawn: ofRecord(({ withdrawn }) => withdrawn),
    receivedAt: ofRecord(({ receivedAt }) => receivedAt),
    content: ofRecord(({ content }) => content),
    derived: ofRecord(({ derived }) => derived),
    derivation: async (asked: readonly Asked<FoundShot>[], { db, principal }: RequestContext) => {
      const found = await explainShots(db, principal, idsOf(asked));
      return asked.map(({ obj }) => {
        const explained = found.get(obj.id);
        if (explained === undefined) throw gone(obj.id);
        return explained;
      });
    },
    revisions: async (asked: readonly Asked<FoundShot>[], { db, principal }: RequestContext) => {
      const found = await revisionsOfShots(db, principal, idsOf(asked));
      return asked.map(({ obj }) => found.get(obj.id) ?? []);
    },
    cueTrack: trackOf('cue'),
    ballTrack: trackOf('ball'),
  },
  Dataset: {
    releases: async (asked: readonly Asked<Dataset>[], { db, principal }: RequestContext) => {
      const found: Release[] = await releasesOfDatasets(
        db,
        principal,
        asked.map(({ obj }) => obj.slug),
      );
      return asked.map(({ obj }) => found.filter(({ dataset }) => dataset === obj.slug));
    },
  },
};

/** Plain values that are computed from their parent. */
export const gearResolvers = {
  reference: ({ name, version }: GearRecord) => `${name}@${version}`,
};
