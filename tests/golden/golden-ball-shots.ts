/**
 * Six more invented shots: ball track on a camera of its own, gap of tip and ball, repeat readings, calibrated table. Made
 * in small steps by + - * / only, so that every machine makes the same ones.
 */
import { cueContentSchema, rigContentSchema, tableContentSchema } from '../../shared/gear.ts';
import { type Shot, type ShotInput, shotInputSchema } from '../../shared/shot.ts';
import type { UsedGear } from '../../src/derivation/gear.ts';

const gravity = 9.80665;
const cueRate = 4000;
const ballRate = 120;
/** Steps of the motion between two frames. */
const steps = 20;

const gear: UsedGear = {
  rig: {
    name: 'east',
    version: 1,
    content: rigContentSchema.parse({ captureRate: { value: cueRate, unit: 'Hz' }, trimMeaning: 'correction' }),
  },
  cue: {
    name: 'oak',
    version: 1,
    content: cueContentSchema.parse({ mass: { value: 540, unit: 'g' }, tipRadius: 'dime' }),
  },
  table: {
    name: 'eight-foot',
    version: 1,
    content: tableContentSchema.parse({
      discipline: 'pool',
      ballDiameter: { value: 57.15, unit: 'mm' },
      calibration: {
        method: 'ballTracks',
        slidingFriction: { value: 0.2, standardUncertainty: 0.01 },
        rollingResistance: { value: 0.014, standardUncertainty: 0.001, definition: 'energy' },
      },
    }),
  },
};

/** Places of the ball in mm, one a frame, from rest before the stroke to rest after the full hit. */
function ballPlaces(speed: number, offset: number, distance: number, noise: () => number): number[] {
  const places: number[] = Array.from({ length: 12 }, () => noise());
  const step = 1 / (ballRate * steps);
  let v = speed;
  let s = 2.5 * speed * offset;
  let x = 0;
  let hit = false;
  let still = 0;
  for (let count = 0; still < 12 * steps && count < 20 * ballRate * steps; count += 1) {
    const slip = v - s;
    const slide = 0.2 * gravity * step;
    if (Math.abs(slip) > 3.5 * slide) {
      v -= Math.sign(slip) * slide;
      s += 2.5 * Math.sign(slip) * slide;
    } else {
      v = Math.abs(v) > 0.01 * gravity * step ? v - Math.sign(v) * 0.01 * gravity * step : 0;
      s = v;
    }
    x += v * step;
    if (!hit && x >= distance) {
      v *= 0.025;
      hit = true;
    }
    if (v === 0) still += 1;
    if (count % steps === 0) places.push(1000 * x + noise());
  }
  return places;
}

/** The fixture: shots with the gear they used. @param random uniform on 0..1 */
export function goldenBallShots(random: () => number): { readonly shot: Shot; readonly gear: UsedGear }[] {
  return Array.from({ length: 6 }, (_, index) => {
    const speed = 2 + index / 4;
    const acceleration = 8 * (index - 2);
    const offset = (index - 2) / 10;
    const closedFrame = 400;
    const noise = () => 0.05 * (random() - 0.5);
    const positions: number[] = [];
    const gaps: (number | null)[] = [];
    for (let frame = closedFrame - 180; frame < closedFrame + 20; frame += 1) {
      const time = (frame - closedFrame + 0.7) / cueRate;
      const before = 1000 * time * (speed + (time * acceleration) / 2);
      positions.push((time > 0 ? 0.6 * before : before) + noise());
      gaps.push(time < 0 && time > -0.006 ? -before + noise() / 4 : null);
    }
    const input: ShotInput = {
      label: `B${index}`,
      rig: 'east',
      cue: 'oak',
      table: 'eight-foot',
      elevation: { value: 0, unit: 'deg' },
      cueTrack: { unit: 'mm', firstFrame: closedFrame - 180, positions, ...(index % 2 === 0 ? { gaps } : {}) },
      ballTrack: {
        unit: 'mm',
        firstFrame: 0,
        positions: ballPlaces(1.3 * speed, offset, 0.7, noise),
        captureRate: { value: ballRate, unit: 'Hz' },
      },
      contact: { closedFrame, openFrame: closedFrame + 5 },
      tipHeight: { method: 'contactMark', height: { value: offset * 28.575, unit: 'mm' } },
      objectBallDistance: { value: 0.7, unit: 'm' },
      ...(index % 3 === 0 ? { ballSpeed: { value: 1.3 * speed, unit: 'm/s' } } : {}),
      repeats: [
        { contact: { closedFrame, openFrame: closedFrame + 6 } },
        { tipHeight: { method: 'contactMark', height: { value: offset * 28.575 + 0.3, unit: 'mm' } } },
      ],
    };
    return { shot: shotInputSchema.parse(input), gear };
  });
}
