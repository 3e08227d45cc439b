/** From what was sent to a shot of the wire contract, with every fault of its structure. */
import type { z } from 'zod';
import { editDistance } from '../../shared/edit-distance.ts';
import { fault, pointerOf } from '../../shared/fault.ts';
import type { Fault } from '../../shared/problems.ts';
import { type Shot, shotInputSchema } from '../../shared/shot.ts';
import { describedAt } from './schema-description.ts';
import { withUnsignedZeros } from './unsigned-zeros.ts';

/** A track with 100,000 wrong numbers is told five of them. */
const faultsPerList = 5;

type Issue = z.core.$ZodIssue;

function valueAt(value: unknown, path: readonly PropertyKey[]): unknown {
  let at = value;
  for (const key of path) {
    if (typeof at !== 'object' || at === null) return undefined;
    at = (at as Record<PropertyKey, unknown>)[key];
  }
  return at;
}

const notFiniteWords = /^\s*[+-]?(nan|inf|infinity)?\s*$/i;

function isNotFinite(issue: Issue, value: unknown): boolean {
  if (issue.code !== 'invalid_type' || (issue.expected !== 'number' && issue.expected !== 'int')) return false;
  return typeof value === 'number' ? !Number.isFinite(value) : typeof value === 'string' && notFiniteWords.test(value);
}

function expectedBy(issue: Issue): string {
  switch (issue.code) {
    case 'invalid_type':
      return `a value of kind ${issue.expected}`;
    case 'invalid_value':
      return `one of ${issue.values.map(String).join(', ')}`;
    case 'too_small':
      return `at least ${String(issue.minimum)}`;
    case 'too_big':
      return `at most ${String(issue.maximum)}${issue.origin === 'array' ? ' members' : ''}`;
    case 'invalid_union':
      return `one of ${'options' in issue && Array.isArray(issue.options) ? issue.options.join(', ') : 'the documented forms'}`;
    default:
      return issue.message;
  }
}

/** Nearest of the words allowed, when it is near: at most two letters in five differ. */
function nearest(issue: Issue, value: unknown): string | undefined {
  if (issue.code !== 'invalid_value' || typeof value !== 'string') return undefined;
  const word = value.replace(/[\s_-]/g, '').toLowerCase();
  const near = issue.values
    .map((allowed) => ({ allowed, apart: editDistance(word, String(allowed).toLowerCase()) }))
    .filter(({ allowed, apart }) => apart <= 0.8 * String(allowed).length)
    .sort((one, other) => one.apart - other.apart)[0];
  return near === undefined ? undefined : `If it is that, write ${String(near.allowed)}.`;
}

/** What to do about common ways of writing a field that are not taken, by the end of its pointer. */
const advice: readonly (readonly [place: RegExp, sent: RegExp, remedy: string])[] = [
  [
    /^\/sessionDate$/,
    /^\d{1,4}[./-]\d{1,2}[./-]\d{1,4}$/,
    'Write year, month, day: 2026-03-31. A spreadsheet keeps it so in cells formatted as text, or as YYYY-MM-DD.',
  ],
  [/\/tipHeight\/ring$/, /^-/, "Give the number of the ring without sign, and its side: 'above' or 'below'."],
  [
    /^\/(player|observer)$|\/observer$/,
    /\s/,
    'Give each person a code, such as P1, and keep the key to it in your lab.',
  ],
  [/^\/label$/, /[^\x20-\x7e]/, 'Use letters without accents, digits, spaces and signs such as / - _ : . only.'],
];

function adviceAt(pointer: string, value: unknown): string | undefined {
  return advice.find(([place, sent]) => place.test(pointer) && sent.test(String(value)))?.[2];
}

function faultsOfIssue(issue: Issue, sent: unknown): Fault[] {
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) =>
      fault('structure-invalid', pointerOf([...issue.path, key]), key, 'only the fields of the schema'),
    );
  }
  const pointer = pointerOf(issue.path);
  const value = valueAt(sent, issue.path);
  if (isNotFinite(issue, value)) return [fault('value-not-finite', pointer, value, 'a finite number, or no field')];
  const described = issue.code === 'invalid_format' ? describedAt(shotInputSchema, issue.path) : undefined;
  const remedy = nearest(issue, value) ?? adviceAt(pointer, value);
  return [fault('structure-invalid', pointer, value, described ?? expectedBy(issue), remedy)];
}

/** Drops the faults of list members beyond the first few of each list. */
function shorten(faults: readonly Fault[]): Fault[] {
  const told = new Map<string, number>();
  return faults.filter(({ pointer }) => {
    const list = /^(.*)\/\d+$/.exec(pointer ?? '')?.[1];
    if (list === undefined) return true;
    const before = told.get(list) ?? 0;
    told.set(list, before + 1);
    return before < faultsPerList;
  });
}

export interface ParsedShot {
  /** The shot, or what could be saved of it so that its other faults are told too; null when that is nothing. */
  readonly shot: Shot | null;
  readonly faults: readonly Fault[];
}

function read(sent: unknown): ParsedShot {
  const parsed = shotInputSchema.safeParse(sent);
  if (!parsed.success) {
    return { shot: null, faults: shorten(parsed.error.issues.flatMap((issue) => faultsOfIssue(issue, sent))) };
  }
  return { shot: withUnsignedZeros(parsed.data), faults: [] };
}

/** The parts without fault; a track needs its contact frames, so it goes with them. */
function withoutFaulty(sent: object, faults: readonly Fault[]): object {
  const faulty = new Set(faults.map(({ pointer }) => pointer?.split('/')[1]));
  if (faulty.has('contact')) faulty.add('cueTrack');
  const rest = Object.fromEntries(Object.entries(sent).filter(([key]) => !faulty.has(key)));
  // Without a label nothing else would be judged; a shot with faults is never stored under this one.
  return faulty.has('label') ? { ...rest, label: '?' } : rest;
}

/** Validates one shot. Never throws. */
export function parseShot(sent: unknown): ParsedShot {
  const first = read(sent);
  if (first.shot !== null || typeof sent !== 'object' || sent === null || Array.isArray(sent)) return first;
  return { shot: read(withoutFaulty(sent, first.faults)).shot, faults: first.faults };
}
