/** What the camera and the tracker make of one stroke: positions in frames, and the frames that look like contact. */
import type { ShotInput } from '../../shared/shot.ts';
import { written } from './height-reading.ts';
import type { Impact } from './impact.ts';
import type { FilmSetting } from './lab-model.ts';
import type { Random } from './random.ts';
import type { Stroke } from './stroke.ts';

export interface FilmErrors {
  /** Relative error of the lab's lengths. */
  readonly scale: number;
  /** Relative error of the stated capture rate. */
  readonly clock: number;
}

export interface FilmChances {
  /** Share of tracks with a tracker jump. */
  readonly jump: number;
  /** Share of contacts in which the observer is one frame out. */
  readonly misread: number;
}

export interface Film {
  readonly cueTrack: NonNullable<ShotInput['cueTrack']>;
  readonly contact: NonNullable<ShotInput['contact']>;
}

/** Time tracked after the contact, s. */
const followThrough = 0.01;
/** Below this gap the eye calls the gap closed, m. */
const visibleGap = 0.00015;

/** Films one stroke. The phase of the frames against the contact is random. */
export function filmStroke(
  random: Random,
  setting: FilmSetting,
  errors: FilmErrors,
  chances: FilmChances,
  stroke: Stroke,
  impact: Impact,
): Film {
  const rate = setting.captureRate * (1 + errors.clock);
  // Frame k is taken at (k - firstContact) / rate.
  const firstContact = 1000 + random.index(4000) + random.uniform();
  const timeOf = (frame: number) => (frame - firstContact) / rate;

  const count = setting.points[0] + random.index(setting.points[1] - setting.points[0] + 1);
  const lastFrame = Math.floor(firstContact + followThrough * rate);
  const firstFrame = lastFrame - count + 1;
  const frames: number[] = [];
  for (let frame = firstFrame; frame <= lastFrame; frame += 1) {
    const lost = frame > firstFrame && frame < lastFrame && random.chance(setting.lostFrames);
    if (!lost) frames.push(frame);
  }

  const jump = random.chance(chances.jump)
    ? {
        from: Math.floor(firstContact) - 2 - random.index(60),
        frames: 1 + random.index(3),
        size: (random.chance(0.5) ? 1 : -1) * random.between(0.0008, 0.003),
      }
    : null;
  const origin = random.between(0.1, 0.3);
  const sign = setting.positiveTowardsBall ? 1 : -1;
  const positions = frames.map((frame) => {
    const time = timeOf(frame);
    const true_ = time <= 0 ? stroke.position(time) : impact.cuePosition(time);
    const jumped = jump !== null && frame >= jump.from && frame < jump.from + jump.frames ? jump.size : 0;
    const seen = true_ + jumped + random.normal(0, setting.trackNoise);
    const sent = (origin + sign * seen) / (1 + errors.scale) / setting.trackUnit.metres;
    return written(sent, setting.trackStep);
  });

  return {
    cueTrack: { unit: setting.trackUnit.unit, positions, ...frameFields(setting, frames) },
    contact: readContact(random, setting, chances, stroke, impact, timeOf, firstContact),
  };
}

function frameFields(setting: FilmSetting, frames: readonly number[]): Partial<Film['cueTrack']> {
  if (setting.frames === 'firstFrame') return { firstFrame: frames[0] ?? 0 };
  if (setting.frames === 'frames') return { frames: [...frames] };
  const values = frames.map((frame) => written((1000 * frame) / setting.captureRate, 0.0001));
  return { frames: [...frames], times: { unit: 'ms', values } };
}

/** The observer steps through the frames and notes the first that looks closed and the first that looks open again. */
function readContact(
  random: Random,
  setting: FilmSetting,
  chances: FilmChances,
  stroke: Stroke,
  impact: Impact,
  timeOf: (frame: number) => number,
  firstContact: number,
): Film['contact'] {
  const end = impact.contactTime;
  const half = setting.exposure / 2;
  const widen = { anyPartOfExposure: half, wholeExposure: -half, unknown: 0 }[setting.exposureCriterion];
  const inContact = (time: number) => time >= -widen && time <= end + widen;

  const interval = timeOf(1) - timeOf(0);
  // Half-width of the span around each edge in which this clip leaves the observer undecided.
  const undecided = setting.trimHabit === 'undecided' ? interval * random.between(0.2, 0.6) : 0;
  const partingSpeed = impact.restitution * stroke.speed;
  const looksClosed = (time: number) => {
    if (inContact(time)) return true;
    if (setting.trimHabit === 'undecided') return time > -undecided - widen && time < end + undecided + widen;
    const gap = time < 0 ? -stroke.position(time) : (time - end) * partingSpeed;
    return gap < visibleGap;
  };
  const certain = (time: number) =>
    inContact(time) && (undecided === 0 || (time > undecided - widen && time < end - undecided + widen));

  let closedFrame = Math.floor(firstContact);
  while (looksClosed(timeOf(closedFrame - 1))) closedFrame -= 1;
  while (!looksClosed(timeOf(closedFrame))) closedFrame += 1;
  let openFrame = closedFrame + 1;
  while (looksClosed(timeOf(openFrame))) openFrame += 1;
  let trimmedStart = 0;
  while (closedFrame + trimmedStart < openFrame && !certain(timeOf(closedFrame + trimmedStart))) trimmedStart += 1;
  let trimmedEnd = 0;
  while (openFrame - trimmedEnd > closedFrame + trimmedStart + 1 && !certain(timeOf(openFrame - 1 - trimmedEnd))) {
    trimmedEnd += 1;
  }
  if (closedFrame + trimmedStart === openFrame) trimmedStart -= 1;
  const misread = random.chance(chances.misread) ? 1 : 0;
  return { closedFrame, openFrame: openFrame + misread, trimmedStart, trimmedEnd };
}
