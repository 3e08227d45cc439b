import { describe, expect, it } from 'vitest';
import { derivedShotSchema } from '../../shared/derivation.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { newestChoices } from '../../src/derivation/method-choices.ts';
import { captureRate, closedFrame, exampleGear, exampleShot, strokePositions } from './example-shot.ts';

const derive = (shot = exampleShot(), gear = exampleGear()) => deriveShot(shot, gear);
const derived = (shot = exampleShot(), gear = exampleGear()) => derive(shot, gear).derived;
const track = (changes: object) => ({ unit: 'mm', firstFrame: 600, positions: strokePositions(), ...changes });

describe('deriving a shot', () => {
  it('gives every number of a complete shot, without faults, in the form of the contract', () => {
    const { derived: result, faults } = derive();
    expect(faults).toEqual([]);
    expect(derivedShotSchema.safeParse(result).error).toBeUndefined();
    expect(result.methodVersion).toBe(newestChoices.version);
    expect(result.source).toBe('track');
    expect(result.cueSpeed?.lower).toBeLessThan(3);
    expect(result.cueSpeed?.upper).toBeGreaterThan(3);
    expect(result.cueAcceleration?.lower).toBeLessThan(20);
    expect(result.cueAcceleration?.upper).toBeGreaterThan(20);
    expect(result.contactTime?.value).toBeCloseTo(9 / captureRate, 12);
    expect(result.countedContactTime).toBe(9 / captureRate);
    expect(result.objectBallDistance).toBe(0.8);
    expect(result.outcomeDistance?.value).toBe(-0.55);
    expect(result.cueMass).toBeCloseTo(0.53864, 5);
    expect(result.reasons).toEqual({ ballSpeed: 'notSent' });
    expect(result.flags).toEqual([]);
  });

  it('gives the same speed whatever the unit, the sign of the axis and the numbering of the frames', () => {
    const speed = derived().cueSpeed?.value ?? Number.NaN;
    const positions = strokePositions();
    const frames = positions.map((_, i) => 600 + i);
    const same = [
      derived(exampleShot({ cueTrack: track({ unit: 'in', positions: positions.map((x) => x / 25.4) }) })),
      derived(
        exampleShot({ cueTrack: track({ unit: 'px', positions: positions.map((x) => x / 0.4) }) }),
        exampleGear({ scale: { value: 0.4, unit: 'mm/px' } }),
      ),
      derived(
        exampleShot({ cueTrack: track({ positions: positions.map((x) => 1e6 - x) }) }),
        exampleGear({ positiveTowardsBall: false }),
      ),
      derived(exampleShot({ cueTrack: { unit: 'mm', positions, frames } })),
      derived(
        exampleShot({
          cueTrack: { unit: 'mm', positions, times: { unit: 'ms', values: frames.map((frame) => frame / 8) } },
        }),
      ),
    ];
    for (const each of same) expect(Math.abs((each.cueSpeed?.value ?? 0) / speed - 1)).toBeLessThan(1e-7);
  });

  it('never looks at the track from first contact on', () => {
    const wild = strokePositions().map((x, i) => (600 + i >= closedFrame ? 1e5 * i : x));
    expect(derived(exampleShot({ cueTrack: track({ positions: wild }) })).cueSpeed).toEqual(derived().cueSpeed);
  });

  it('adds the common errors of scale and clock to the variances and the covariance', () => {
    const exact = derived(exampleShot(), exampleGear({ scaleRelativeUncertainty: 0, clockRelativeUncertainty: 0 }));
    const s = 0.01;
    const c = 0.002;
    const common = derived(exampleShot(), exampleGear({ scaleRelativeUncertainty: s, clockRelativeUncertainty: c }));
    const V = common.cueSpeed?.value ?? 0;
    const a = common.cueAcceleration?.value ?? 0;
    const added = (key: 'cueSpeed' | 'cueAcceleration') =>
      (common[key]?.standardUncertainty ?? 0) ** 2 - (exact[key]?.standardUncertainty ?? 0) ** 2;
    expect(added('cueSpeed')).toBeCloseTo(V * V * (s * s + c * c), 10);
    expect(added('cueAcceleration')).toBeCloseTo(a * a * (s * s + 4 * c * c), 10);
    const covariance = (common.covarianceSpeedAcceleration ?? 0) - (exact.covarianceSpeedAcceleration ?? 0);
    expect(covariance).toBeCloseTo(V * a * (s * s + 2 * c * c), 10);
  });

  it('lists a budget whose lines add up to the standard uncertainty of each result', () => {
    const result = derived();
    for (const name of ['cueSpeed', 'cueAcceleration', 'contactTime', 'tipOffset', 'outcomeDistance'] as const) {
      const lines = result.budget.filter((line) => line.result === name);
      const sum = Math.sqrt(lines.reduce((total, { contribution }) => total + contribution ** 2, 0));
      expect(Math.abs(sum / (result[name]?.standardUncertainty ?? 0) - 1), name).toBeLessThan(1e-9);
    }
    const scale = result.budget.find((line) => line.result === 'cueSpeed' && line.input === 'scale');
    expect(scale).toMatchObject({ commonTo: 'rig', kind: 'B' });
  });

  it('moves first contact by trimmed frames that were closed too early, and only widens it when they are undecided', () => {
    const shot = exampleShot({
      cueTrack: track({ positions: strokePositions(3, 100, 0) }),
      contact: { closedFrame, openFrame: closedFrame + 12, trimmedStart: 2, trimmedEnd: 1 },
    });
    const speedOf = (trimMeaning: string) => derived(shot, exampleGear({ trimMeaning })).cueSpeed?.value ?? 0;
    expect(speedOf('correction')).toBeCloseTo(3 + 100 * (2 / captureRate), 6);
    expect(speedOf('undecided')).toBeCloseTo(3 + 100 * (1 / captureRate), 6);
    expect(derived(shot).countedContactTime).toBe(9 / captureRate);
  });

  it('gives no acceleration at order 1, and says why', () => {
    const result = derived(exampleShot(), exampleGear({ fit: { order: 1, window: { value: 5, unit: 'ms' } } }));
    expect(result.cueAcceleration).toBeNull();
    expect(result.covarianceSpeedAcceleration).toBeNull();
    expect(result.reasons.cueAcceleration).toBe('orderOneHasNoAcceleration');
    expect(result.fit).toMatchObject({ order: 1, fixedByRig: true });
  });

  it('does not resolve a contact seen in fewer than two frames: null with a reason, never zero', () => {
    const result = derived(exampleShot({ contact: { closedFrame, openFrame: closedFrame + 1 } }));
    expect(result.contactTime).toBeNull();
    expect(result.reasons.contactTime).toBe('notResolved');
    expect(result.flags).toContain('contactNotResolved');
    expect(result.contactTimeBounds?.most).toBe(2 / captureRate);
  });
});

describe("the lab's own values", () => {
  const reported = {
    cueSpeed: { value: 12, unit: 'km/h' },
    cueAcceleration: { value: 22, unit: 'm/s2' },
    contactTime: { value: 1.2, unit: 'ms' },
    tipOffset: { value: -0.4, unit: 'R' },
  };

  it('are compared with the recomputed ones and never used in their place', () => {
    const result = derived(exampleShot({ reported }));
    expect(result.cueSpeed).toEqual(derived().cueSpeed);
    expect(result.compared.map(({ quantity }) => quantity)).toEqual([
      'cueSpeed',
      'cueAcceleration',
      'contactTime',
      'tipOffset',
    ]);
    expect(result.flags).toContain('reportedDiffers');
    const close = derived(exampleShot({ reported: { cueSpeed: { value: 3.02, unit: 'm/s' } } }));
    expect(close.flags).not.toContain('reportedDiffers');
    expect(derived(exampleShot({ tipHeight: undefined, reported })).tipOffset).toBeNull();
  });

  it('stand in when there is no track, and the shot is marked as reported', () => {
    const result = derived(exampleShot({ cueTrack: undefined, contact: undefined, tipHeight: undefined, reported }));
    expect(result.source).toBe('reported');
    expect(result.cueSpeed?.value).toBeCloseTo(12 / 3.6, 12);
    expect(result.cueSpeed?.standardUncertainty).toBeCloseTo(0.02 * (12 / 3.6), 12);
    expect(result.contactTime?.value).toBe(0.0012);
    expect(result.tipOffset?.value).toBe(-0.4);
    expect(result.compared).toEqual([]);
    expect(result.fit).toBeNull();
  });
});

describe('the outcome', () => {
  it('is a bound and not a value unless the ball came to rest', () => {
    const outcome = { distance: { value: 12, unit: 'in' }, ended: 'cushion' as const };
    const result = derived(exampleShot({ outcome }));
    expect(result.outcomeDistance).toBeNull();
    expect(result.outcomeBound).toBe(0.3048);
    expect(result.reasons.outcomeDistance).toBe('censored');
    expect(result.flags).toContain('outcomeCensored');
  });

  it('has the uncertainty the lab gave, or 5 mm, and that of the ball when counted in balls', () => {
    const u = (outcome: object) =>
      derived(exampleShot({ outcome: { ended: 'atRest', ...outcome } as never })).outcomeDistance?.standardUncertainty;
    expect(u({ distance: { value: -1, unit: 'm' } })).toBe(0.005);
    expect(u({ distance: { value: -1, unit: 'm' }, standardUncertainty: { value: 2, unit: 'cm' } })).toBe(0.02);
    expect(u({ distance: { value: 100, unit: 'ball' } })).toBeGreaterThan(0.0085);
  });

  it('in diamonds needs the length of the table', () => {
    const shot = exampleShot({
      outcome: { distance: { value: 2, unit: 'diamonds' }, ended: 'atRest' },
      objectBallDistance: { value: 3, unit: 'diamond' },
    });
    expect(derived(shot).outcomeDistance?.value).toBeCloseTo(0.635, 12);
    const without = derived(shot, exampleGear({}, {}, { length: undefined }));
    expect(without.outcomeDistance).toBeNull();
    expect(without.reasons).toMatchObject({ outcomeDistance: 'needsTable', objectBallDistance: 'needsTable' });
  });
});

describe('flags', () => {
  const flagsOf = (shot = exampleShot(), gear = exampleGear()) => derived(shot, gear).flags;

  it('repeat what the lab marked and whether the shot was straight', () => {
    expect(flagsOf(exampleShot({ labFlags: ['push', 'miscue'], straight: false }))).toEqual([
      'miscue',
      'push',
      'notStraight',
    ]);
  });

  it('say what was assumed', () => {
    const flags = flagsOf(exampleShot({ elevation: undefined }), exampleGear({}, null, null));
    expect(flags).toEqual(expect.arrayContaining(['tipSizeAssumed', 'ballSizeAssumed', 'elevationAssumed']));
    expect(derived(exampleShot(), exampleGear({}, null)).reasons.cueMass).toBe('needsCue');
    // A contact mark on the ball owes nothing to the shape of the tip.
    const mark = exampleShot({ tipHeight: { method: 'contactMark', height: { value: 5, unit: 'mm' } } });
    expect(flagsOf(mark, exampleGear({}, null))).not.toContain('tipSizeAssumed');
  });

  it('point at unusual values, few points, coarse contacts, unknown trims and unsettled signs', () => {
    const slow = exampleShot({ cueTrack: track({ positions: strokePositions(9, 0) }) });
    expect(flagsOf(slow)).toEqual(expect.arrayContaining(['cueSpeedUnusual', 'accelerationNotResolved']));
    const few = { unit: 'mm', firstFrame: 990, positions: strokePositions().slice(390, 400) };
    expect(flagsOf(exampleShot({ cueTrack: few }))).toContain('fewTrackPoints');
    const coarse = exampleShot({ contact: { closedFrame, openFrame: closedFrame + 3 } });
    expect(flagsOf(coarse)).toEqual(expect.arrayContaining(['fewContactFrames', 'contactTimeUnusual']));
    const trimmed = exampleShot({ contact: { closedFrame, openFrame: closedFrame + 11, trimmedStart: 1 } });
    expect(flagsOf(trimmed, exampleGear({ trimMeaning: 'unknown' }))).toContain('trimMeaningUnknown');
  });

  it('list tracker jumps and frozen trackers', () => {
    const jump = strokePositions().map((x, i) => (i === 300 ? x + 3 : x));
    const result = derived(exampleShot({ cueTrack: track({ positions: jump }) }));
    expect(result.flags).toContain('outlyingFrames');
    expect(result.fit?.outlyingFrames).toEqual([900]);
    const frozen = strokePositions().map((x, i, all) => (i >= 300 && i < 306 ? (all[300] ?? x) : x));
    expect(flagsOf(exampleShot({ cueTrack: track({ positions: frozen }) }))).toContain('trackFrozen');
  });

  it('do not take a slow cue in whole pixels for a frozen tracker', () => {
    const pixels = strokePositions(0.5, 0, 0).map((x) => Math.round(x / 0.4));
    const gear = exampleGear({ scale: { value: 0.4, unit: 'mm/px' } });
    expect(flagsOf(exampleShot({ cueTrack: track({ unit: 'px', positions: pixels }) }), gear)).not.toContain(
      'trackFrozen',
    );
  });
});

describe('faults that only the derivation can find', () => {
  const faultOf = (shot = exampleShot(), gear = exampleGear()) => derive(shot, gear).faults[0];

  it('are raised for a track that is too short, stands still, runs away or has no scale', () => {
    const short = { unit: 'mm', firstFrame: 995, positions: strokePositions().slice(395) };
    expect(faultOf(exampleShot({ cueTrack: short }))?.code).toBe('track-too-short');
    const still = track({ positions: strokePositions(0, 0) });
    expect(faultOf(exampleShot({ cueTrack: still }))?.code).toBe('track-motionless');
    expect(faultOf(exampleShot(), exampleGear({ positiveTowardsBall: false }))?.code).toBe('track-motionless');
    expect(faultOf(exampleShot({ cueTrack: track({ unit: 'px' }) }))?.code).toBe('scale-missing');
    expect(faultOf(exampleShot({ contact: { countedFrames: 9 } }))?.code).toBe('first-contact-missing');
    const repeated = strokePositions().map((_, i) => 600 + 2 * Math.floor(i / 2));
    expect(
      faultOf(exampleShot({ cueTrack: { unit: 'mm', frames: repeated, positions: strokePositions() } }))?.code,
    ).toBe('frames-not-increasing');
  });

  it('name the limit that an impossible value breaks', () => {
    const fast = faultOf(exampleShot({ cueTrack: track({ positions: strokePositions(30, 20) }) }));
    expect(fast).toMatchObject({ code: 'limit-exceeded', pointer: '/cueTrack', row: null, column: null });
    expect(fast?.found).toContain('30');
    expect(fast?.expected).toBe('0.02 to 20 m/s');
    const long = faultOf(exampleShot({ contact: { closedFrame, openFrame: closedFrame + 400 } }));
    expect(long).toMatchObject({ code: 'limit-exceeded', pointer: '/contact' });
  });

  it('recognise a playback rate given as the capture rate, and say by how much', () => {
    const swapped = derive(
      exampleShot(),
      exampleGear({ captureRate: { value: 30, unit: 'fps' }, fit: { window: { value: 20, unit: 's' } } }),
    );
    expect(swapped.faults.map(({ code, pointer }) => [code, pointer])).toEqual([
      ['rate-confusion', '/cueTrack'],
      ['rate-confusion', '/contact'],
    ]);
    expect(swapped.faults[1]?.found).toContain('0.3 s');
    expect(swapped.faults[1]?.remedy).toMatch(/30 frames\/s.*at least about 100 times higher/);
  });

  it('recognise a capture rate that was not used, by the ratio to the playback rate', () => {
    // Filmed in real time at 240 frames/s, but the rig says 8000 with playback at 240.
    const positions = strokePositions().map((x) => 8 * x);
    const gear = exampleGear({ playbackRate: { value: 240, unit: 'fps' } });
    const fault = faultOf(exampleShot({ cueTrack: track({ positions }) }), gear);
    expect(fault?.code).toBe('rate-confusion');
    expect(fault?.remedy).toContain('33.33 times too high');
  });

  it('leave out a value whose interval is wider than what is possible instead of refusing the shot', () => {
    const positions = strokePositions(3, 20, 0.6).slice(385, 402);
    const { derived: result, faults } = derive(exampleShot({ cueTrack: { unit: 'mm', firstFrame: 985, positions } }));
    expect(faults).toEqual([]);
    expect(result.cueAcceleration).toBeNull();
    expect(result.covarianceSpeedAcceleration).toBeNull();
    expect(result.reasons.cueAcceleration).toBe('notResolved');
    expect(result.flags).toContain('accelerationNotResolved');
  });
});
