/** Binary heap of items 0 .. n - 1 by distance, equal distances by item number; a distance may be lowered in place. */
export class DistanceHeap {
  readonly #heap: Int32Array;
  /** Place in the heap, or -1. */
  readonly #place: Int32Array;
  readonly #distance: Float64Array;
  #size = 0;

  /** @param distance the caller's distances by item; must not be raised while an item is in the heap */
  constructor(distance: Float64Array) {
    this.#heap = new Int32Array(distance.length);
    this.#place = new Int32Array(distance.length).fill(-1);
    this.#distance = distance;
  }

  get size(): number {
    return this.#size;
  }

  /** The item that `pop` would give. */
  get first(): number {
    return this.#heap[0] as number;
  }

  /** Puts an item in, or moves it up after its distance was lowered. */
  push(item: number): void {
    let place = this.#place[item] as number;
    if (place < 0) place = this.#size++;
    while (place > 0) {
      const parent = (place - 1) >> 1;
      const above = this.#heap[parent] as number;
      if (this.#before(above, item)) break;
      this.#set(place, above);
      place = parent;
    }
    this.#set(place, item);
  }

  /** Takes out the nearest item. The heap must not be empty. */
  pop(): number {
    const nearest = this.#heap[0] as number;
    this.#place[nearest] = -1;
    this.#size -= 1;
    if (this.#size === 0) return nearest;
    const item = this.#heap[this.#size] as number;
    let place = 0;
    for (;;) {
      let child = 2 * place + 1;
      if (child >= this.#size) break;
      const right = child + 1;
      if (right < this.#size && this.#before(this.#heap[right] as number, this.#heap[child] as number)) child = right;
      const below = this.#heap[child] as number;
      if (this.#before(item, below)) break;
      this.#set(place, below);
      place = child;
    }
    this.#set(place, item);
    return nearest;
  }

  clear(): void {
    for (let k = 0; k < this.#size; k++) this.#place[this.#heap[k] as number] = -1;
    this.#size = 0;
  }

  #before(a: number, b: number): boolean {
    const da = this.#distance[a] as number;
    const db = this.#distance[b] as number;
    return da < db || (da === db && a < b);
  }

  #set(place: number, item: number): void {
    this.#heap[place] = item;
    this.#place[item] = place;
  }
}
