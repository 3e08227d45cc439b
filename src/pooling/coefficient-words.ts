/** What a coefficient says, in one sentence with unit and interval, and its unit in SI. */
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { termName } from './canonical-specification.ts';
import { decimalsFor, displayFactor, displayUnit, figure, list, rounded } from './figures-in-words.ts';

type Term = RegressionSpecification['terms'][number];

export interface CoefficientFigures {
  readonly estimate: number;
  readonly standardError: number;
  readonly interval: { readonly lower: number; readonly upper: number };
  readonly smallestDetectable: number;
}

export interface CoefficientContext {
  readonly response: VariableName;
  readonly terms: readonly Term[];
  /** Null for the intercept. */
  readonly term: Term | null;
  readonly confidence: number;
  readonly shots: number;
}

/** SI unit of a coefficient in UCUM: response unit over the units of the term, such as s/(m/s). */
export function coefficientUnit(response: VariableName, term: Term | null): string {
  const above = quantities[response].siUnit;
  const below = (term ?? []).flatMap(({ variable, power }) => {
    const unit = quantities[variable].siUnit;
    if (unit === '1') return [];
    const compound = unit.includes('/') || (power > 1 && /\d$/.test(unit)) ? `(${unit})` : unit;
    return [power === 1 ? compound : `${compound}${power}`];
  });
  if (below.length === 0) return above;
  return `${above}/${below.length === 1 ? below[0] : `(${below.join('.')})`}`;
}

/** The sentence: how much the response changes with the term, or that this is not resolved and what would be. */
export function coefficientSentence(figures: CoefficientFigures, context: CoefficientContext): string {
  const { response, term, confidence, shots } = context;
  const factor = displayFactor(response) / termFactor(term);
  const decimals = decimalsFor(figures.standardError * Math.abs(factor));
  const write = (value: number) => figure(value * factor, decimals);
  const unit = sentenceUnit(response, term);
  const level = `${rounded(confidence * 100, 4)} %`;
  const interval = `${level} interval ${write(figures.interval.lower)} to ${spaced(write(figures.interval.upper), unit)}`;
  const subject = quantities[response].label;
  const held = heldEqual(context);
  const covered = figures.interval.lower <= 0 && figures.interval.upper >= 0;
  if (term === null) {
    return `Where every term is zero, ${subject} is ${spaced(write(figures.estimate), unit)} (${interval}); this may lie outside the data.`;
  }
  const simple = term.length === 1 && term[0]?.power === 1;
  const about = simple ? quantities[(term[0] as Term[number]).variable].label : termName(term);
  if (covered) {
    return (
      `Not resolved: whether ${subject} changes with ${about}${held} ` +
      `(${interval}, which covers 0); these ${shots} shots would show a ${simple ? 'slope' : 'coefficient'} of ` +
      `${spaced(figure(figures.smallestDetectable * Math.abs(factor), decimals), unit)} or more with 80 % power.`
    );
  }
  if (!simple) {
    return `The coefficient of ${about} for ${subject} is ${spaced(write(figures.estimate), unit)}${held} (${interval}).`;
  }
  const size = figure(Math.abs(figures.estimate * factor), decimals);
  const verb = figures.estimate * factor < 0 ? 'falls' : 'rises';
  return `${subject[0]?.toUpperCase()}${subject.slice(1)} ${verb} by ${spaced(size, unit)} of ${about}${held} (${interval}).`;
}

function spaced(value: string, unit: string): string {
  return unit === '' ? value : `${value} ${unit}`;
}

/** Such as ms per m/s; ms per 1 when the term is a pure number. */
function sentenceUnit(response: VariableName, term: Term | null): string {
  const above = displayUnit(response);
  if (term === null) return above;
  const below = term.map(({ variable, power }) => {
    const unit = displayUnit(variable) || '1';
    return power === 1 ? unit : `(${unit})^${power}`;
  });
  return `${above} per ${below.length === 1 ? below[0] : `(${below.join(' x ')})`}`.trim();
}

/** Display unit of a slope and the factor from SI, such as ms per m/s. */
export function slopeDisplay(response: VariableName, term: Term): { readonly unit: string; readonly factor: number } {
  return { unit: sentenceUnit(response, term), factor: displayFactor(response) / termFactor(term) };
}

function termFactor(term: Term | null): number {
  let factor = 1;
  for (const { variable, power } of term ?? []) for (let k = 0; k < power; k += 1) factor *= displayFactor(variable);
  return factor;
}

/** `at equal ...` for the variables of other terms that this term does not share. */
function heldEqual({ term, terms }: CoefficientContext): string {
  const own = new Set((term ?? []).map(({ variable }) => variable));
  const others = new Set(terms.flat().flatMap(({ variable }) => (own.has(variable) ? [] : [variable])));
  if (others.size === 0) return '';
  return ` at equal ${list([...others].map((variable) => quantities[variable].label))}`;
}

/** The synthesis in one sentence: mean slope of the labs, how far labs differ, and what a further lab may show. */
export function synthesisSentence(
  row: {
    readonly labs: number;
    readonly estimate: number;
    readonly standardError: number;
    readonly interval: CoefficientFigures['interval'] | null;
    readonly tau: number;
    readonly tauInterval: CoefficientFigures['interval'];
    readonly prediction: CoefficientFigures['interval'] | null;
  },
  { response, term, confidence }: Pick<CoefficientContext, 'response' | 'confidence'> & { readonly term: Term },
): string {
  const factor = displayFactor(response) / termFactor(term);
  const decimals = decimalsFor(row.standardError * Math.abs(factor));
  const write = (value: number) => figure(value * factor, decimals);
  const size = (value: number) => figure(value * Math.abs(factor), decimals);
  const unit = sentenceUnit(response, term);
  const level = `${rounded(confidence * 100, 4)} %`;
  const mean = `${row.labs} labs, each with its own slope of ${termName(term)} for ${quantities[response].label}: mean ${spaced(write(row.estimate), unit)}`;
  if (row.interval === null || row.prediction === null) {
    return `${mean}; with two labs no interval is given, see both.`;
  }
  // Labs that agree more closely than chance leave the Q profile empty: an upper end of 0 would read as certainty.
  const spread =
    row.tauInterval.upper > 0
      ? ` (${level} interval ${size(row.tauInterval.lower)} to ${spaced(size(row.tauInterval.upper), unit)})`
      : ' (no interval: they agree more closely than their own errors lead one to expect)';
  return (
    `${mean} (${level} interval ${write(row.interval.lower)} to ${spaced(write(row.interval.upper), unit)}); the true slopes of labs differ with a ` +
    `standard deviation of ${spaced(size(row.tau), unit)}${spread}, and a further lab's is expected ` +
    `between ${write(row.prediction.lower)} and ${spaced(write(row.prediction.upper), unit)} (approximate).`
  );
}
