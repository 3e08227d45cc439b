/** A small invented release with written-down derivations: it guards the format, not the method. */
import type { DerivedShot } from '../../shared/derivation.ts';
import { rigContentSchema, tableContentSchema } from '../../shared/gear.ts';
import { frozenContentSchema } from '../../src/releases/frozen-content.ts';
import type { DerivedFrozenShot, FrozenGear } from '../../src/releases/frozen-shot.ts';

export const inventedGear: FrozenGear[] = [
  {
    lab: 'south',
    kind: 'tables',
    name: 'club',
    version: 1,
    content: tableContentSchema.parse({ discipline: 'snooker', note: 'Grünes Tuch, "neu"' }),
  },
  {
    lab: 'north',
    kind: 'rigs',
    name: 'main',
    version: 2,
    content: rigContentSchema.parse({ captureRate: { value: 4000, unit: 'Hz' }, scale: { value: 0.1, unit: 'mm/px' } }),
  },
  {
    lab: 'south',
    kind: 'rigs',
    name: 'main',
    version: 1,
    content: rigContentSchema.parse({ captureRate: { value: 10_000, unit: 'Hz' } }),
  },
];

const nothing: DerivedShot = {
  methodVersion: '1',
  source: 'reported',
  cueSpeed: null,
  cueAcceleration: null,
  covarianceSpeedAcceleration: null,
  contactTime: null,
  contactTimeBounds: null,
  contactTimeReadings: [],
  firstContact: null,
  countedContactTime: null,
  tipOffset: null,
  tipHeight: null,
  objectBallDistance: null,
  outcomeDistance: null,
  outcomeBound: null,
  ended: null,
  ballSpeed: null,
  cueMass: null,
  elevation: null,
  fit: null,
  budget: [],
  compared: [],
  reasons: { cueSpeed: 'notSent' },
  flags: [],
};

export const inventedShots: DerivedFrozenShot[] = [
  {
    lab: 'north',
    ordinal: 1,
    revision: 1,
    content: frozenContentSchema.parse({
      label: 'A "quoted", odd label',
      rig: 'main@2',
      player: 'P1',
      sessionDate: '2026-03-01',
      contact: { closedFrame: 4, openFrame: 9, trimmedStart: 1 },
      tipHeight: { method: 'ring', ring: 1.5, ringStep: { value: 5, unit: 'mm' }, side: 'below' },
      outcome: { distance: { value: -12.5, unit: 'in' }, ended: 'atRest' },
    }),
    contentHash: 'b'.repeat(64),
    track: {
      unit: 'px',
      positions: [0.1, 0.2, -0.30000000000000004, 1e-7, 1e21],
      frames: [0, 1, 2, 3, 5],
      times: null,
    },
    derived: {
      ...nothing,
      source: 'track',
      cueSpeed: { value: 3.1, standardUncertainty: 0.1 + 0.2, lower: 3, upper: 3.2 },
      outcomeDistance: { value: -0.3175, standardUncertainty: 0.005, lower: -0.3273, upper: -0.3077 },
      ended: 'atRest',
      fit: {
        window: 0.04,
        points: 81,
        order: 3,
        fixedByRig: false,
        residualStandardDeviation: 5e-5,
        lagOneCorrelation: -0.01,
        durbinWatson: 2.02,
        autoregression: 0,
        uncertaintyInflation: 1,
        outlyingFrames: [2, 3],
        outlyingLeftOut: true,
        candidates: [],
        orders: [],
        sensitivity: [],
        exceedsNoise: false,
        resolvingWindow: null,
      },
      flags: ['fewContactFrames', 'outlyingFrames'],
    },
  },
  {
    lab: 'south',
    ordinal: 7,
    revision: 3,
    content: frozenContentSchema.parse({
      label: 'S-7',
      rig: 'main@1',
      table: 'club@1',
      reported: { cueSpeed: { value: 7, unit: 'mph' } },
      note: 'line one\nline two, with a comma',
    }),
    contentHash: 'b'.repeat(64),
    track: { unit: 'mm', positions: [5, 6], frames: null, times: { unit: 'ms', values: [0, 0.1] } },
    derived: nothing,
  },
];
