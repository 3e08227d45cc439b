/** Checks and derives one shot. Pure: the same shot with the same gear gives the same answer. */

import { printable } from '../../shared/fault.ts';
import type { Fault } from '../../shared/problems.ts';
import type { Shot } from '../../shared/shot.ts';
import type { GearBook, GearVersion } from '../access/gear.ts';
import type { UsedGear } from '../derivation/gear.ts';
import { type Derive, type MethodsInUse, newestOnly } from '../derivation/methods.ts';
import { checkAfterImpact } from './checks/check-after-impact.ts';
import { type ResolvedGear, resolveGear } from './checks/check-gear-known.ts';
import { type CheckInput, checkInput } from './checks/check-input.ts';
import { checkReportedRates } from './checks/check-reported-rate.ts';
import { checkShot } from './checks/check-shot.ts';
import { readUnits } from './checks/check-units.ts';
import { leavesVersionOpen, type PinnedGear } from './gear-references.ts';
import { type ParsedShot, parseShot } from './parse-shot.ts';
import type { PreparedShot, ReadyShot } from './prepared-shot.ts';
import { locate } from './read/locate.ts';
import type { SentPlace, SentShot } from './read/sent-shot.ts';
import { contentHash, storedContent } from './stored-content.ts';
import { encodeTrack, trackHash } from './track-bytes.ts';

function usedGear(resolved: ResolvedGear): UsedGear | null {
  const { rig, cue, table, faults } = resolved;
  return rig === null || faults.length > 0 ? null : { rig, cue, table };
}

/** A fault of a cell hides what the schema says about the gap that the cell left. */
function mergeFaults(reading: readonly Fault[], parsing: readonly Fault[]): Fault[] {
  const hidden = ({ pointer }: Fault) =>
    reading.some((one) => one.pointer === '' || pointer === one.pointer || pointer?.startsWith(`${one.pointer}/`));
  return [...reading, ...parsing.filter((one) => !hidden(one))];
}

function open(shot: Shot): PinnedGear | null {
  if (!leavesVersionOpen(shot)) return null;
  const name = (reference: string | undefined) =>
    reference === undefined || reference.includes('@') ? null : reference;
  return { rig: name(shot.rig), cue: name(shot.cue), table: name(shot.table) };
}

const idOf = (version: GearVersion<'cues'> | GearVersion<'tables'> | null): number | null => version?.id ?? null;

function labelOf(value: unknown): string | null {
  const label = typeof value === 'object' && value !== null && 'label' in value ? value.label : null;
  return typeof label === 'string' ? printable(label.slice(0, 80)) : null;
}

/** A shot that was parsed before the stored shot of its label was known. */
export interface ParsedSentShot extends SentPlace {
  readonly position: number;
  readonly label: string | null;
  readonly parsed: ParsedShot;
}

export function parseSentShot(sent: SentShot): ParsedSentShot {
  const { position, row, columns, tracks, value } = sent;
  const unreadable = value === null && sent.faults.length > 0;
  const parsed = unreadable ? { shot: null, faults: [] } : parseShot(value);
  return {
    position,
    row,
    columns,
    tracks,
    label: labelOf(value),
    parsed: { shot: parsed.shot, faults: mergeFaults(sent.faults, parsed.faults) },
  };
}

function firstRows({ cue, ball }: NonNullable<SentPlace['tracks']>): NonNullable<PreparedShot['trackRows']> {
  return { cue: cue?.rows[0] ?? null, ball: ball?.rows[0] ?? null };
}

/**
 * @param pinned gear of the stored shot with this label, which decides versions left open; null when there is none
 * @param methods the active one decides whether the shot is accepted
 */
export function prepareShot(
  sent: ParsedSentShot,
  book: GearBook,
  pinned: PinnedGear | null,
  methods: MethodsInUse = newestOnly,
): PreparedShot {
  const { position, row, label, parsed } = sent;
  const { faults, ready, shared } = judge(parsed, book, pinned, methods);
  return {
    position,
    row,
    ...(sent.tracks === undefined ? {} : { trackRows: firstRows(sent.tracks) }),
    label,
    shared,
    faults: faults.map((one) => locate(one, sent)),
    ready,
  };
}

/** Faults that show only beside derived values: those of the derivation, else what intake holds against them. */
function checkDerived(
  { shot, gear: settled }: CheckInput,
  gear: UsedGear,
  { derived, faults }: ReturnType<Derive>,
): Fault[] {
  if (faults.length > 0 || settled === null) return [...faults];
  return [...checkReportedRates(shot, settled, derived), ...checkAfterImpact(shot, gear, settled, derived)];
}

function judge(
  parsed: ParsedShot,
  book: GearBook,
  pinned: PinnedGear | null,
  methods: MethodsInUse,
): { faults: readonly Fault[]; ready: ReadyShot | null; shared: boolean } {
  if (parsed.shot === null) return { faults: parsed.faults, ready: null, shared: false };
  const units = readUnits(parsed.shot);
  const { shot } = units;
  const resolved = resolveGear(shot, book, pinned);
  const gear = usedGear(resolved);
  const input = checkInput(shot, gear, units.refused);
  const checked = checkShot(input);
  const before = [...parsed.faults, ...units.faults, ...resolved.faults];
  if (gear === null || resolved.rig === null || before.length > 0) {
    return { faults: [...before, ...checked], ready: null, shared: shot.shared };
  }
  const derivation = checked.length > 0 ? null : methods.active(shot, gear);
  const faults = derivation === null ? checked : checkDerived(input, gear, derivation);
  const track = shot.cueTrack === undefined ? null : encodeTrack(shot.cueTrack);
  const hash = track === null ? null : trackHash(track);
  const ballTrack = shot.ballTrack === undefined ? null : encodeTrack(shot.ballTrack);
  const content = storedContent(shot, resolved);
  const ready: ReadyShot = {
    content,
    contentHash: contentHash(content, { cue: hash, ball: ballTrack === null ? null : trackHash(ballTrack) }),
    track,
    ballTrack,
    trackHash: hash,
    rigId: resolved.rig.id,
    cueId: idOf(resolved.cue),
    tableId: idOf(resolved.table),
    pinned,
    open: open(shot),
    derived: faults.length > 0 ? null : (derivation?.derived ?? null),
    derivedBeside: faults.length > 0 ? [] : methods.beside.map((derive) => derive(shot, gear).derived),
  };
  return { faults, ready, shared: shot.shared };
}
