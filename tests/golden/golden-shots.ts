/**
 * Forty invented shots (and those of golden-ball-shots.ts) with their gear, made by integers and + - * / only, so that every machine makes the same ones.
 * Every method of reading, unit, trim meaning and ending occurs; some tracks are noisy, jumpy, short or coarse.
 */
import { cueContentSchema, rigContentSchema, tableContentSchema } from '../../shared/gear.ts';
import { type Shot, type ShotInput, shotInputSchema } from '../../shared/shot.ts';
import type { UsedGear } from '../../src/derivation/gear.ts';
import { goldenBallShots } from './golden-ball-shots.ts';

/** Minimal standard generator (Park and Miller): exact in doubles. Returns 0..1. */
function generator(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 16_807) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}

const gears: readonly UsedGear[] = [
  {
    rig: {
      name: 'north',
      version: 1,
      content: rigContentSchema.parse({
        captureRate: { value: 8000, unit: 'fps' },
        playbackRate: { value: 30, unit: 'fps' },
        exposure: { value: 40, unit: 'us' },
        exposureCriterion: 'anyPartOfExposure',
        trimMeaning: 'correction',
      }),
    },
    cue: {
      name: 'ash',
      version: 2,
      content: cueContentSchema.parse({
        mass: { value: 19, unit: 'oz' },
        shaftRadius: { value: 6.4, unit: 'mm' },
        tipDiameter: { value: 12.8, unit: 'mm' },
        tipRadius: 'nickel',
      }),
    },
    table: {
      name: 'nine-foot',
      version: 1,
      content: tableContentSchema.parse({
        discipline: 'pool',
        ballDiameter: { value: 2.25, unit: 'in' },
        length: { value: 100, unit: 'in' },
      }),
    },
  },
  {
    rig: {
      name: 'south',
      version: 3,
      content: rigContentSchema.parse({
        captureRate: { value: 2000, unit: 'Hz' },
        scale: { value: 0.35, unit: 'mm/px' },
        positiveTowardsBall: false,
        heightReference: 'cloth',
        trimMeaning: 'undecided',
        fit: { order: 3, window: { value: 30, unit: 'ms' } },
      }),
    },
    cue: { name: 'maple', version: 1, content: cueContentSchema.parse({ tipDiameter: { value: 9.5, unit: 'mm' } }) },
    table: { name: 'twelve-foot', version: 1, content: tableContentSchema.parse({ discipline: 'snooker' }) },
  },
  {
    rig: {
      name: 'west',
      version: 1,
      content: rigContentSchema.parse({
        captureRate: { value: 1, unit: 'kHz' },
        heightPositiveUp: false,
        heightUncertainty: { value: 0.5, unit: 'mm' },
        scaleRelativeUncertainty: 0.01,
      }),
    },
    cue: null,
    table: null,
  },
];

const units = ['mm', 'px', 'in', 'cm'] as const;
const metresPer = { mm: 0.001, px: 0.00035, in: 0.0254, cm: 0.01 } as const;
const endings = ['atRest', 'atRest', 'cushion', 'pocketed', 'stoppedByHand', 'outOfView'] as const;

function readingOf(index: number, offset: number, cloth: boolean): ShotInput['tipHeight'] {
  const zero = cloth ? 26.25 : 0;
  const mm = (value: number) => ({ value: value + zero, unit: 'mm' });
  switch (index % 5) {
    case 0:
      return { method: 'shaftTopEdge', topEdge: mm(offset + 6.4), station: { value: 45, unit: 'mm' } };
    case 1:
      return { method: 'shaftEdges', topEdge: mm(offset + 6), bottomEdge: mm(offset - 6) };
    case 2:
      return { method: 'contactMark', height: mm(offset / 2), standardUncertainty: { value: 0.2, unit: 'mm' } };
    case 3:
      return {
        method: 'ring',
        ring: Math.floor(Math.abs(offset)) / 2,
        ringStep: { value: 2, unit: 'mm' },
        side: offset < 0 ? 'below' : 'above',
      };
    default:
      return undefined;
  }
}

/** The fixture: shots with the gear they used. */
export function goldenShots(): { readonly shot: Shot; readonly gear: UsedGear }[] {
  const random = generator(20_251);
  const between = (least: number, most: number) => least + (most - least) * random();
  const cueShots = Array.from({ length: 40 }, (_, index) => {
    const gear = gears[index % gears.length] as UsedGear;
    const rate = gear.rig.content.captureRate.unit === 'kHz' ? 1000 : gear.rig.content.captureRate.value;
    const sign = gear.rig.content.positiveTowardsBall ? 1 : -1;
    const unit = gear.rig.content.scale === undefined ? units[[0, 2, 3][index % 3] ?? 0] : units[index % 4];
    const perUnit = 1 / metresPer[unit ?? 'mm'];
    const speed = between(0.6, 5.5);
    const acceleration = between(-15, 40);
    const jerk = between(-200, 200);
    const noise = between(0.00001, 0.0001);
    const points = index % 10 === 9 ? 12 : Math.floor(0.05 * rate);
    const closedFrame = 500 + Math.floor(between(0, 400));
    const contactFrames = Math.max(1, Math.floor((rate * between(0.9, 1.7)) / 1000));

    const positions: number[] = [];
    for (let i = 0; i < points + 5; i++) {
      const time = (i - points + 0.5) / rate;
      const smooth = time * (speed + (time / 2) * (acceleration + (time / 3) * jerk));
      const jump = index % 7 === 3 && i === Math.floor(0.7 * points) ? 0.003 : 0;
      const position = sign * (smooth + jump + noise * (random() + random() + random() - 1.5) * 2) * perUnit;
      positions.push(unit === 'px' ? Math.round(position) : position);
    }
    const frames = positions.map((_position, i) => closedFrame - points + i);
    const withTrack = index % 8 !== 7;
    const reading = readingOf(index, between(-12, 12), gear.rig.content.heightReference === 'cloth');
    const trims = index % 4 === 2 && contactFrames > 4 ? 1 : 0;
    const input: ShotInput = {
      label: `G${index}`,
      rig: gear.rig.name,
      straight: index % 11 !== 10,
      contact: { closedFrame, openFrame: closedFrame + contactFrames, trimmedStart: trims, trimmedEnd: trims },
      outcome: {
        distance: { value: between(-60, 60), unit: index % 6 === 1 ? 'ball' : 'cm' },
        ended: endings[index % endings.length] ?? 'atRest',
      },
      objectBallDistance: { value: between(1, 4), unit: gear.table?.content.length === undefined ? 'ft' : 'diamond' },
      ...(withTrack ? { cueTrack: { unit: unit ?? 'mm', positions, ...numbering(index, frames, rate) } } : {}),
      ...(reading === undefined ? {} : { tipHeight: reading }),
      ...(index % 3 === 0 ? { elevation: { value: between(0, 4), unit: 'deg' } } : {}),
      ...(index % 2 === 1 ? { reported: reportedOf(speed, acceleration, between(-0.4, 0.4)) } : {}),
      ...(index % 13 === 12 ? { labFlags: ['miscue' as const] } : {}),
    };
    return { shot: shotInputSchema.parse(input), gear };
  });
  return [...cueShots, ...goldenBallShots(generator(20_252))];
}

function numbering(index: number, frames: number[], rate: number): Partial<NonNullable<ShotInput['cueTrack']>> {
  if (index % 3 === 0) return { frames };
  if (index % 3 === 1) return { firstFrame: frames[0] ?? 0 };
  return { times: { unit: 'ms', values: frames.map((frame) => (frame * 1000) / rate) } };
}

function reportedOf(speed: number, acceleration: number, tipOffset: number): ShotInput['reported'] {
  return {
    cueSpeed: { value: speed, unit: 'm/s' },
    cueAcceleration: { value: acceleration, unit: 'm/s^2' },
    contactTime: { value: 1.2, unit: 'ms' },
    tipOffset: { value: tipOffset, unit: 'R' },
  };
}
