import { describe, expect, it } from 'vitest';
import type { Shot } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import type { UsedGear } from '../../src/derivation/gear.ts';
import { ballFigureData } from '../../src/figures/ball-figure-data.ts';
import { shotFigure } from '../../src/figures/shot-figure.ts';
import { contactFrames, strokeFigureData } from '../../src/figures/shot-figure-data.ts';
import { exampleGear, exampleShot, strokePositions } from '../derivation/example-shot.ts';
import { goldenShots } from '../golden/golden-shots.ts';
import { expectRelative } from '../harness/expect-relative.ts';

const gear = exampleGear();
const draw = (shot: Shot, used: UsedGear = gear) => {
  const { derived } = deriveShot(shot, used);
  return shotFigure({ lab: 'north', revision: 1, shot, gear: used, derived });
};

/** Names of elements that are opened and not closed, or closed out of turn. */
function unbalanced(markup: string): string[] {
  const open: string[] = [];
  const wrong: string[] = [];
  for (const [, closing, name = '', , empty] of markup.matchAll(
    /<(\/?)([a-z]+)((?:\s+[\w:-]+="[^"<]*")*)\s*(\/?)>/gi,
  )) {
    if (closing === '/') {
      if (open.pop() !== name) wrong.push(name);
    } else if (empty !== '/') open.push(name);
  }
  // Whatever the pattern did not take for an element is left over as a bracket.
  const rest = markup.replace(/<(\/?)([a-z]+)((?:\s+[\w:-]+="[^"<]*")*)\s*(\/?)>/gi, '');
  return [...wrong, ...open, ...(rest.includes('<') ? ['a stray bracket'] : [])];
}

describe('the figure of a shot', () => {
  it('is the same text for the same derivation', () => {
    expect(draw(exampleShot())).toBe(draw(exampleShot()));
  });

  it('is well-formed and holds only finite numbers, for every golden shot', () => {
    for (const { shot, gear: used } of goldenShots()) {
      const figure = draw(shot, used);
      expect(unbalanced(figure), shot.label).toEqual([]);
      expect(figure, shot.label).not.toMatch(/NaN|Infinity|undefined|null/);
    }
  });

  it('can be read without seeing it: title, description, values with their uncertainty', () => {
    const figure = draw(exampleShot());
    expect(figure).toContain('role="img" aria-labelledby="figure-title figure-description"');
    expect(figure).toContain('<title id="figure-title">Shot A1 of lab north</title>');
    const description = /<desc[^>]*>(.*?)<\/desc>/.exec(figure)?.[1];
    expect(description).toMatch(/polynomial of order 2 .* cue speed at impact 3\.0\d+ ± 0\.0\d+ m\/s/);
    expect(description).toContain('9 in contact, 0 trimmed');
  });

  it('has units on every axis that measures something', () => {
    const figure = draw(exampleShot());
    for (const label of [
      'Position (mm)',
      'Residual (µm)',
      'Speed (m/s)',
      'Acceleration (m/s²)',
      'Time relative to first contact (ms)',
      'Frame number',
    ]) {
      expect(figure).toContain(`>${label}</text>`);
    }
  });

  it.each([1, 0.06, 0.02, 0.004])('has a scale on both sides of zero for residuals up to %d mm', (roughness) => {
    const cueTrack = { unit: 'mm', firstFrame: 600, positions: strokePositions(3, 20, roughness) };
    const figure = draw(exampleShot({ cueTrack }));
    const panel = figure.slice(figure.indexOf('Residuals of the fit'), figure.indexOf('Cue speed along'));
    const ticks = [...panel.matchAll(/>(−?[\d,.]+)<\/text>/g)].map(([, text]) => text);
    const positive = ticks.filter((text) => ticks.includes(`−${text}`));
    expect(positive).toHaveLength(1);
    expect(positive[0]).toMatch(/^[125][0,]*$/);
  });

  it('escapes what a lab wrote', () => {
    const figure = draw(exampleShot({ label: '<a href="x">&' }));
    expect(figure).toContain('Shot &lt;a href="x"&gt;&amp; of lab north');
    expect(unbalanced(figure)).toEqual([]);
  });

  it('shows the frames about contact as they count', () => {
    const shot = exampleShot({ contact: { closedFrame: 1000, openFrame: 1005, trimmedStart: 1, trimmedEnd: 1 } });
    const kinds = contactFrames(shot).map(({ frame, kind }) => `${frame} ${kind}`);
    expect(kinds.slice(2, 9)).toEqual([
      '999 open',
      '1000 trimmed',
      '1001 closed',
      '1002 closed',
      '1003 closed',
      '1004 trimmed',
      '1005 open',
    ]);
  });

  it('shows the ball track with its fit, the impact and the outcome distance', () => {
    const found = goldenShots().find(({ shot }) => shot.ballTrack !== undefined);
    if (found === undefined) throw new Error('no golden ball track');
    const figure = draw(found.shot, found.gear);
    expect(figure).toContain('>Time after the ball-ball impact (s)</text>');
    expect(figure).toContain('>Place from the impact (m)</text>');
    expect(draw(exampleShot())).not.toContain('ball-ball impact');
    const data = ballFigureData(found.shot, found.gear);
    const { ball, outcomeDistance } = deriveShot(found.shot, found.gear).derived;
    // The drawn motion ends where the result says, and what was tracked lies on it.
    expect(data?.curves.at(-1)?.at(-1)?.place).toBeCloseTo(outcomeDistance?.value ?? Number.NaN, 9);
    const [before, after] = data?.curves ?? [];
    expect(before?.at(-1)?.place).toBeCloseTo(0, 9);
    expect(after?.[0]).toMatchObject({ time: 0 });
    expect(after?.[0]?.place).toBeCloseTo(0, 9);
    const last = data?.points.at(-1)?.place ?? Number.NaN;
    expect(Math.abs(last - (outcomeDistance?.value ?? 0))).toBeLessThan(1e-3);
    expect(ball?.read).toBe(true);
  });

  it('writes intervals and the residual deviation, which may be too small to see', () => {
    const figure = draw(exampleShot());
    expect(figure).toMatch(/Residuals of the fit: standard deviation 1\d µm/);
    expect(figure).toMatch(/◆ result, 95 % interval 2\.9\d+ to 3\.0\d+ m\/s/);
    expect(figure).toMatch(/contact time, 95 % interval [\d.]+ to [\d.]+ ms/);
  });

  it('is drawn for a shot without track or contact, saying so', () => {
    const { cueTrack: _track, contact: _contact, ...summary } = exampleShot();
    const figure = draw(summary);
    expect(figure).toContain('There is no fitted cue track.');
    expect(figure).not.toContain('Position (mm)');
  });
});

describe('what the figure draws', () => {
  it('ends at the result: the curve passes first contact with the derived speed and acceleration', () => {
    const fixed = exampleGear({ fit: { order: 2 } });
    const shot = exampleShot();
    const { derived } = deriveShot(shot, fixed);
    const end = strokeFigureData(shot, fixed, derived)?.curve.at(-1);
    expect(end?.time).toBeCloseTo(0, 12);
    expect(end?.position).toBeCloseTo(0, 9);
    // One order, so the drawn curve is the fit itself.
    expectRelative(end?.speed ?? 0, derived.cueSpeed?.value ?? 1, 1e-9);
    expectRelative(end?.acceleration ?? 0, derived.cueAcceleration?.value ?? 1, 1e-7);
  });

  it('shows a second way to the speed: the trend of differences of means comes to the fitted speed at first contact', () => {
    const shot = exampleShot();
    const { derived } = deriveShot(shot, gear);
    const data = strokeFigureData(shot, gear, derived);
    expect(data?.blockSpeeds).toHaveLength(15);
    expect(data?.speedTrend.at(-1)?.time).toBeCloseTo(0, 12);
    expectRelative(data?.speedTrend.at(-1)?.speed ?? 0, derived.cueSpeed?.value ?? 1, 0.01);
    expect(draw(shot)).toContain('stroke-dasharray="4,3"');
    const short = exampleShot({ cueTrack: { unit: 'mm', firstFrame: 991, positions: strokePositions().slice(391) } });
    expect(draw(short)).not.toMatch(/NaN|Infinity/);
  });

  it('marks a jump of the tracker and leaves it out of the curve', () => {
    const positions = strokePositions();
    positions[300] = (positions[300] ?? 0) + 1.5;
    const shot = exampleShot({ cueTrack: { unit: 'mm', firstFrame: 600, positions } });
    const { derived } = deriveShot(shot, gear);
    const data = strokeFigureData(shot, gear, derived);
    const jumps = data?.residuals.filter(({ outlying }) => outlying) ?? [];
    expect(jumps).toHaveLength(1);
    expect(jumps[0]?.residual).toBeGreaterThan(1400);
    expect(data?.residuals).toHaveLength((derived.fit?.points ?? 0) + 1);
  });

  it('stays small for a very long track', () => {
    const rate = 400_000;
    const positions = Array.from(
      { length: 20_000 },
      (_, i) => 1000 * 3 * ((i - 19_000) / rate) + 0.01 * ((i * 7919) % 11),
    );
    const shot = exampleShot({
      cueTrack: { unit: 'mm', firstFrame: 0, positions },
      contact: { closedFrame: 19_000, openFrame: 19_400 },
    });
    expect(draw(shot, exampleGear({ captureRate: { value: rate, unit: 'fps' } })).length).toBeLessThan(400_000);
  });
});
