import { describe, expect, it } from 'vitest';
import { explainedDerivationSchema, methodSections } from '../../shared/explanation.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { explainDerivation } from '../../src/derivation/explain/explain-derivation.ts';
import { methodsLink } from '../../src/derivation/explain/step.ts';
import { methodsText } from '../../src/releases/methods-text.ts';
import { goldenShots } from '../golden/golden-shots.ts';
import { exampleGear, exampleShot } from './example-shot.ts';

const shot = exampleShot({ reported: { cueSpeed: { value: 3.1, unit: 'm/s' } } });
const { derived } = deriveShot(shot, exampleGear());
const explained = explainDerivation(shot, exampleGear(), derived);

describe('an explained derivation', () => {
  it('has an anchor in the methods text for every section that a step may name, and each only once', () => {
    const text = methodsText();
    for (const section of methodSections) {
      expect(text.split(`<a id="${section}"></a>`), section).toHaveLength(2);
    }
    const links = new Set(methodSections.map(methodsLink));
    for (const { methods } of explained.steps) expect(links).toContain(methods);
    const inText = [...text.matchAll(/\]\(#([a-z-]+)\)/g)].map(([, anchor]) => anchor);
    for (const anchor of inText) expect(text).toContain(`<a id="${anchor}"></a>`);
  });

  it('tells the steps in the order in which the numbers came about', () => {
    expect(explained.steps.map(({ methods }) => methods.split('#')[1])).toEqual([
      'units-and-gear',
      'first-contact',
      'fit-window',
      'tracker-jumps',
      'fit-order',
      'fit-uncertainty',
      'fit-sensitivity',
      'common-errors',
      'intervals',
      'contact-time',
      'tip-offset',
      'outcome',
      'expected-outcome',
      'reported-values',
      'limits',
    ]);
  });

  it('ends each chain at the very number of the result', () => {
    const numbers = explained.steps.flatMap((step) => step.numbers);
    const numberOf = (name: string) => numbers.find((each) => each.name === name)?.value;
    expect(numberOf('cue speed')).toBe(derived.cueSpeed?.value);
    expect(numberOf('contact time')).toBe(derived.contactTime?.value);
    expect(numberOf('tip offset')).toBe(derived.tipOffset?.value);
    expect(numberOf('outcome distance')).toBe(derived.outcomeDistance?.value);
    const difference = numberOf('cueSpeed: difference in combined standard uncertainties');
    const [line] = derived.compared;
    expect(difference).toBe(((line?.reported ?? 0) - (line?.recomputed ?? 0)) / (line?.combinedUncertainty ?? 1));
  });

  it('says for every input what was sent, what is used and who said so', () => {
    const input = (name: string) => explained.inputs.find((each) => each.name === name);
    expect(input('capture rate')).toMatchObject({ sent: '8000 fps', value: 8000, unit: '1/s', from: 'rig north@1' });
    expect(input('tip dome radius')).toMatchObject({ sent: '10.6 mm', value: 0.0106, from: 'cue ash@1' });
    expect(input('top edge of the shaft')).toMatchObject({ value: -0.01, standardUncertainty: 0.00015, from: 'shot' });
    const { elevation: _elevation, ...level } = shot;
    const assumed = explainDerivation(level, exampleGear({}, null), deriveShot(level, exampleGear({}, null)).derived);
    expect(assumed.inputs.filter(({ from }) => from === 'assumed').map(({ name }) => name)).toEqual([
      'tip dome radius',
      'shaft radius',
      'elevation of the cue',
    ]);
  });

  it('shows the limits of tip and miscue, and what another counting convention would give', () => {
    const numbers = explained.steps.flatMap((step) => step.numbers);
    const limits = numbers
      .filter(({ name }) => name.startsWith('limit: '))
      .map(({ value }) => Number(value).toFixed(3));
    expect(limits).toEqual(['0.613', '-0.563', '0.514', '0.500']);
    const trimmed = exampleShot({ contact: { closedFrame: 1000, openFrame: 1009, trimmedStart: 1, trimmedEnd: 1 } });
    const other = explainDerivation(trimmed, exampleGear(), deriveShot(trimmed, exampleGear()).derived).steps.flatMap(
      (step) => step.numbers.filter(({ name }) => name.startsWith('if trims were undecided')),
    );
    expect(other.map(({ name }) => name.split(': ')[1])).toEqual([undefined, 'standard uncertainty', 'change']);
    expect(other[2]?.value).toBeCloseTo(1 / 8000, 12);
  });

  it('has a unit and an uncertainty for every measured input', () => {
    const measured = exampleShot({ ballSpeed: { value: 2.9, unit: 'm/s' } });
    const { inputs } = explainDerivation(measured, exampleGear(), deriveShot(measured, exampleGear()).derived);
    for (const { name, unit, standardUncertainty } of inputs) {
      expect(unit, name).not.toBeNull();
      expect(standardUncertainty, name).toBeGreaterThan(0);
    }
    const input = (name: string) => inputs.find((each) => each.name === name);
    expect(input('place of reading')).toMatchObject({ value: 0.045, standardUncertainty: 3e-4, from: 'shot' });
    expect(input('ball speed')?.standardUncertainty).toBeCloseTo(0.058, 12);
    expect(input('cue mass')).toMatchObject({ from: 'cue ash@1', standardUncertainty: 0.002 });
  });

  it('lists the largest contribution of each budget first', () => {
    for (const { lines } of explained.budget) {
      for (const [index, line] of lines.entries()) {
        expect(line.contribution).toBeLessThanOrEqual(lines[Math.max(0, index - 1)]?.contribution ?? 0);
      }
    }
    expect(explained.budget.map(({ result }) => result)).toContain('tipHeight');
  });

  it('fits its schema and says something for every golden shot', () => {
    const schema = explainedDerivationSchema.pick({ inputs: true, steps: true, budget: true, flags: true });
    for (const each of goldenShots()) {
      const explanation = explainDerivation(each.shot, each.gear, deriveShot(each.shot, each.gear).derived);
      expect(schema.safeParse(explanation).error).toBeUndefined();
      for (const { done } of explanation.steps) expect(done.length).toBeGreaterThan(15);
      for (const { meaning } of explanation.flags) expect(meaning.length).toBeGreaterThan(15);
    }
  });
});
