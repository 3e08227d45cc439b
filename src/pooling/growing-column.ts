/** Columns that grow while rows arrive, so that a million rows never exist as a million objects at once. */

import type { GroupColumn } from './columns.ts';
import { compareCodeUnits } from './compare-code-units.ts';

type Numbers = Float64Array | Int32Array | Uint8Array;

/** A typed array with room to grow; NaN, -1 or 0 stand for missing as the caller chooses. */
export class GrowingColumn<T extends Numbers> {
  #values: T;
  #count = 0;
  readonly #make: (length: number) => T;

  constructor(make: (length: number) => T) {
    this.#make = make;
    this.#values = make(1024);
  }

  push(value: number): void {
    if (this.#count === this.#values.length) {
      const larger = this.#make(this.#values.length * 2);
      larger.set(this.#values);
      this.#values = larger;
    }
    this.#values[this.#count] = value;
    this.#count += 1;
  }

  /** The values in the given order of rows. */
  gather(order: Int32Array): T {
    const gathered = this.#make(order.length);
    for (let place = 0; place < order.length; place += 1) {
      gathered[place] = this.#values[order[place] as number] as number;
    }
    return gathered;
  }

  at(row: number): number {
    return this.#values[row] as number;
  }
}

/** Names as codes. Codes are given out by first arrival and renumbered at the end, so that arrival leaves no trace. */
export class GrowingGroup {
  readonly #codes = new GrowingColumn((length) => new Int32Array(length));
  readonly #codeOf = new Map<string, number>();

  push(name: string | null): void {
    if (name === null) {
      this.#codes.push(-1);
      return;
    }
    let code = this.#codeOf.get(name);
    if (code === undefined) {
      code = this.#codeOf.size;
      this.#codeOf.set(name, code);
    }
    this.#codes.push(code);
  }

  /** Code of a row, as given out so far. */
  at(row: number): number {
    return this.#codes.at(row);
  }

  /** For each code given out: its rank among the names in code units. */
  ranks(): Int32Array {
    const names = [...this.#codeOf.keys()].sort(compareCodeUnits);
    const ranks = new Int32Array(names.length);
    names.forEach((name, rank) => {
      ranks[this.#codeOf.get(name) as number] = rank;
    });
    return ranks;
  }

  /** The column in the given order of rows, its names sorted by code units. */
  finish(order: Int32Array): GroupColumn {
    const ranks = this.ranks();
    const codes = this.#codes.gather(order);
    for (let row = 0; row < codes.length; row += 1) {
      const code = codes[row] as number;
      if (code >= 0) codes[row] = ranks[code] as number;
    }
    return { codes, names: [...this.#codeOf.keys()].sort(compareCodeUnits) };
  }
}
