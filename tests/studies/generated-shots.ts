/**
 * Shots whose true speed, acceleration, contact time and tip offset are known, as a lab would send them. Everything
 * that has a stated uncertainty is drawn from it: scale, clock, frame phase, trims, readings, sizes of the gear. Shares
 * no code with the derivation.
 */
import type { CueContent, RigContent, TableContent } from '../../shared/gear.ts';
import { rigContentSchema } from '../../shared/gear.ts';
import { type Shot, type ShotInput, shotInputSchema } from '../../shared/shot.ts';
import type { UsedGear } from '../../src/derivation/gear.ts';

export interface GeneratedShot {
  readonly shot: Shot;
  readonly gear: UsedGear;
  readonly truth: {
    /** m/s, m/s2, s, b/R. */
    readonly cueSpeed: number;
    readonly cueAcceleration: number;
    readonly contactTime: number;
    readonly tipOffset: number;
  };
  readonly captureRate: number;
}

export interface Random {
  uniform(from: number, to: number): number;
  normal(standardDeviation: number): number;
  chance(probability: number): boolean;
  pick<Item>(items: readonly [Item, ...Item[]]): Item;
}

/** A 32-bit mixing generator: the same shots in every run. */
export function randomOf(seed: number): Random {
  let state = seed >>> 0;
  const next = () => {
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
    mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
    return ((mixed ^ (mixed >>> 15)) >>> 0) / 4294967296;
  };
  return {
    uniform: (from, to) => from + (to - from) * next(),
    normal: (sd) => sd * Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    chance: (probability) => next() < probability,
    pick: (items) => items[Math.floor(next() * items.length)] ?? items[0],
  };
}

const mm = (metres: number) => ({ value: metres * 1000, unit: 'mm' });
const degree = Math.PI / 180;

interface Stroke {
  readonly speed: number;
  readonly acceleration: number;
  readonly jerk: number;
  readonly snap: number;
}

/** A stroke that keeps moving forward over the last 60 ms. */
function drawStroke(random: Random): Stroke {
  const speed = random.uniform(0.5, 6);
  return {
    speed,
    acceleration: random.uniform(Math.max(-20, -10 * speed), Math.min(60, 8 * speed)),
    jerk: random.uniform(-150, 150) * speed,
    snap: random.uniform(-3000, 3000) * speed,
  };
}

function positionAt(stroke: Stroke, time: number): number {
  if (time > 0) return 0.6 * stroke.speed * time;
  const { speed, acceleration, jerk, snap } = stroke;
  return time * (speed + (time / 2) * (acceleration + (time / 3) * (jerk + (time / 4) * snap)));
}

type TrimMeaning = RigContent['trimMeaning'];

interface ContactFrames {
  readonly closedFrame: number;
  readonly openFrame: number;
  readonly trimmedStart: number;
  readonly trimmedEnd: number;
}

/** Frames are instants; `start` and `end` of contact in frames. What the eye sees early or late follows the meaning. */
function drawContact(random: Random, start: number, end: number, meaning: TrimMeaning): ContactFrames {
  const closed = Math.ceil(start);
  const open = Math.ceil(end);
  const trims = random.chance(0.5) ? 0 : 1;
  const trimmedStart = trims * random.pick([0, 1, 1, 2]);
  const trimmedEnd = trims * random.pick([0, 1, 1]);
  const early = meaning === 'correction' ? trimmedStart : Math.floor(random.uniform(0, trimmedStart + 1));
  const late = meaning === 'correction' ? trimmedEnd : Math.floor(random.uniform(0, trimmedEnd + 1));
  return { closedFrame: closed - early, openFrame: open + late, trimmedStart, trimmedEnd };
}

interface DrawnGear {
  readonly table: TableContent;
  readonly cue: CueContent | null;
  /** True sizes, m and rad. */
  readonly ballRadius: number;
  readonly tipRadius: number;
  readonly shaftRadius: number;
}

/** Stated sizes, and true ones that differ from them by the uncertainties the service documents. */
function drawGear(random: Random): DrawnGear {
  const ballDiameterGiven = random.chance(0.7);
  const table: TableContent = {
    discipline: 'pool',
    ...(ballDiameterGiven ? { ballDiameter: mm(0.05715) } : {}),
    length: { value: 2.54, unit: 'm' },
  };
  const ballRadius = 0.028575 + random.normal(3.7e-5);
  if (random.chance(0.25)) {
    // No cue given: sizes from the defaults of the discipline.
    const tipRadius = 0.01 + random.normal(1.4e-3);
    return { table, cue: null, ballRadius, tipRadius, shaftRadius: 0.0064 + random.normal(2.5e-4) };
  }
  const shape = random.pick(['dime', 'nickel', 'measured'] as const);
  const stated = { dime: 0.00895, nickel: 0.0106, measured: random.uniform(0.008, 0.012) }[shape];
  const shaft = random.uniform(0.0058, 0.0066);
  return {
    table,
    cue: {
      mass: { value: random.uniform(17, 21), unit: 'oz' },
      shaftRadius: mm(shaft),
      tipRadius: shape === 'measured' ? mm(stated) : shape,
    },
    ballRadius,
    tipRadius: stated + random.normal(5e-4),
    shaftRadius: shaft + random.normal(5e-5),
  };
}

interface DrawnReading {
  readonly tipHeight: NonNullable<ShotInput['tipHeight']>;
  readonly elevation: ShotInput['elevation'];
}

function drawReading(
  random: Random,
  tipOffset: number,
  gear: DrawnGear,
  scaleError: number,
  rig: RigContent,
): DrawnReading {
  const elevationGiven = random.chance(0.75);
  const statedElevation = random.uniform(0, 5);
  const elevation = (elevationGiven ? statedElevation + random.normal(0.3) : random.normal(2)) * degree;
  const sine = Math.sin(elevation);
  const cosine = Math.cos(elevation);
  const own = random.chance(0.3);
  const u = own ? random.uniform(1e-4, 5e-4) : 3e-4;
  const uncertainty = own ? { standardUncertainty: mm(u) } : {};
  const { ballRadius } = gear;
  const fromCloth = rig.heightReference === 'cloth';
  const send = (height: number) => {
    const read = (height + (fromCloth ? ballRadius : 0)) * (1 + scaleError) + random.normal(u);
    return mm(rig.heightPositiveUp ? read : -read);
  };
  const sentElevation = elevationGiven ? { value: statedElevation, unit: 'deg' } : undefined;
  const method = random.pick(['shaftTopEdge', 'shaftTopEdge', 'shaftEdges', 'contactMark', 'ring'] as const);
  if (method === 'contactMark' || method === 'ring') {
    const lever = tipOffset * ballRadius;
    const height = lever * cosine + Math.sqrt(ballRadius * ballRadius - lever * lever) * sine;
    if (method === 'contactMark') {
      return { tipHeight: { method, height: send(height), ...uncertainty }, elevation: sentElevation };
    }
    const step = 0.001;
    const read = Math.round((height + random.normal(3e-4)) / step);
    const tipHeight = {
      method,
      ring: Math.abs(read),
      ringStep: mm(step),
      side: read < 0 ? ('below' as const) : ('above' as const),
    };
    return { tipHeight, elevation: sentElevation };
  }
  const statedStation = random.uniform(0.04, 0.07);
  const stationGiven = random.chance(0.6);
  const station = stationGiven
    ? { sent: { station: mm(statedStation) }, true: (statedStation + random.normal(3e-4)) / (1 + scaleError) }
    : { sent: {}, true: 0.045 + random.normal(5e-3) };
  const axis = tipOffset * (ballRadius + gear.tipRadius);
  const middle = (axis + station.true * sine) / cosine;
  const halfWidth = gear.shaftRadius / cosine;
  const topEdge = send(middle + halfWidth);
  const tipHeight =
    method === 'shaftTopEdge'
      ? { method, topEdge, ...station.sent, ...uncertainty }
      : { method, topEdge, bottomEdge: send(middle - halfWidth), ...station.sent, ...uncertainty };
  return { tipHeight, elevation: sentElevation };
}

/** One shot of a rig of its own. */
export function generateShot(random: Random, label: string): GeneratedShot {
  const captureRate = random.pick([1000, 2000, 2400, 4000, 5000, 8000, 10_000]);
  const scaleUncertainty = random.pick([0.001, 0.003, 0.01]);
  const clockUncertainty = random.pick([0.0001, 0.001]);
  const unit = random.pick(['mm', 'in', 'px', 'cm'] as const);
  const metresPerUnit = { mm: 0.001, in: 0.0254, px: 0.0004, cm: 0.01 }[unit];
  const trimMeaning = random.pick(['correction', 'correction', 'undecided', 'undecided', 'unknown'] as const);
  const sign = random.pick([1, 1, 1, -1]);
  const rig = rigContentSchema.parse({
    captureRate: { value: captureRate, unit: random.pick(['fps', 'Hz', '1/s']) },
    ...(unit === 'px' ? { scale: { value: 0.4, unit: 'mm/px' } } : {}),
    scaleRelativeUncertainty: scaleUncertainty,
    clockRelativeUncertainty: clockUncertainty,
    positiveTowardsBall: sign === 1,
    trimMeaning,
    heightReference: random.pick(['ballCentre', 'cloth']),
    heightPositiveUp: random.chance(0.8),
  });
  const scaleError = random.normal(scaleUncertainty);
  const trueRate = captureRate * (1 + random.normal(clockUncertainty));

  const stroke = drawStroke(random);
  const contactTime = random.uniform(0.9e-3, 1.9e-3) * (3 / stroke.speed) ** 0.15;
  const contactFrame = Math.floor(random.uniform(1000, 5000)) + random.uniform(0, 1);
  const contact = drawContact(random, contactFrame, contactFrame + contactTime * trueRate, trimMeaning);

  const noise = random.uniform(2e-5, 1e-4);
  const firstFrame = Math.ceil(contactFrame - 0.055 * trueRate);
  const count = Math.floor(0.06 * captureRate);
  const origin = random.uniform(-500, 500);
  const positions: number[] = [];
  for (let i = 0; i < count; i++) {
    const time = (firstFrame + i - contactFrame) / trueRate;
    const position = positionAt(stroke, time) * (1 + scaleError) + random.normal(noise);
    positions.push(origin + (sign * position) / metresPerUnit);
  }
  if (random.chance(0.1)) {
    const jump = Math.floor(random.uniform(0.4, 0.85) * count);
    positions[jump] = (positions[jump] ?? 0) + 0.004 / metresPerUnit;
  }

  const tipOffset = random.uniform(-0.48, 0.48);
  const gear = drawGear(random);
  const reading = drawReading(random, tipOffset, gear, scaleError, rig);
  const shot = shotInputSchema.parse({
    label,
    rig: 'high-speed',
    cueTrack: { unit, positions, firstFrame },
    contact,
    tipHeight: reading.tipHeight,
    ...(reading.elevation === undefined ? {} : { elevation: reading.elevation }),
  } satisfies ShotInput);
  return {
    shot,
    gear: {
      rig: { name: 'high-speed', version: 1, content: rig },
      cue: gear.cue === null ? null : { name: 'house', version: 1, content: gear.cue },
      table: { name: 'club', version: 1, content: gear.table },
    },
    truth: { cueSpeed: stroke.speed, cueAcceleration: stroke.acceleration, contactTime, tipOffset },
    captureRate,
  };
}
