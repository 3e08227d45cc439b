/** How a correction moves derived values: counted shot by shot, so that many shots cost no memory. */
import {
  type CorrectionEffect,
  type ShownQuantity,
  shownQuantities,
  type ValueChange,
} from '../../../shared/correction.ts';
import type { DerivedShot } from '../../../shared/derivation.ts';

class ChangeOfValue {
  #shots = 0;
  #sum = 0;
  #largest: number | null = null;
  #largestOf: string | null = null;
  #lost = 0;
  #gained = 0;

  meet(label: string, before: number | null, after: number | null): void {
    if (before === null || after === null) {
      if (before !== null) this.#lost += 1;
      if (after !== null) this.#gained += 1;
      return;
    }
    const change = after - before;
    this.#shots += 1;
    this.#sum += change;
    if (this.#largest !== null && Math.abs(change) <= Math.abs(this.#largest)) return;
    this.#largest = change;
    this.#largestOf = label;
  }

  result(): ValueChange {
    return {
      shots: this.#shots,
      meanChange: this.#shots === 0 ? null : this.#sum / this.#shots,
      largestChange: this.#largest,
      largestChangeOf: this.#largestOf,
      lost: this.#lost,
      gained: this.#gained,
    };
  }
}

export class EffectOfCorrection {
  #shots = 0;
  #refused = 0;
  readonly #flags = new Map<string, { appears: number; disappears: number }>();
  readonly #values: Readonly<Record<ShownQuantity, ChangeOfValue>> = {
    cueSpeed: new ChangeOfValue(),
    cueAcceleration: new ChangeOfValue(),
    contactTime: new ChangeOfValue(),
    tipOffset: new ChangeOfValue(),
  };

  /** @param after null when the checks refuse the corrected shot */
  meet(label: string, before: DerivedShot, after: DerivedShot | null): void {
    this.#shots += 1;
    if (after === null) {
      this.#refused += 1;
      return;
    }
    for (const quantity of shownQuantities) {
      this.#values[quantity].meet(label, before[quantity]?.value ?? null, after[quantity]?.value ?? null);
    }
    for (const flag of after.flags) if (!before.flags.includes(flag)) this.#count(flag).appears += 1;
    for (const flag of before.flags) if (!after.flags.includes(flag)) this.#count(flag).disappears += 1;
  }

  #count(flag: string): { appears: number; disappears: number } {
    const count = this.#flags.get(flag) ?? { appears: 0, disappears: 0 };
    this.#flags.set(flag, count);
    return count;
  }

  result(): CorrectionEffect {
    const { cueSpeed, cueAcceleration, contactTime, tipOffset } = this.#values;
    return {
      shots: this.#shots,
      refused: this.#refused,
      values: {
        cueSpeed: cueSpeed.result(),
        cueAcceleration: cueAcceleration.result(),
        contactTime: contactTime.result(),
        tipOffset: tipOffset.result(),
      },
      flags: [...this.#flags]
        .sort(([one], [other]) => (one < other ? -1 : 1))
        .map(([flag, count]) => ({ flag, ...count })),
    };
  }
}
