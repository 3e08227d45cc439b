/**
 * The shots of all labs as chunks in memory, brought up to date chunk by chunk when the version of a lab moves. Chunks
 * beyond the budget are read anew for every question and dropped after it: the same rows in the same order, so the same
 * bits.
 */
import { sql } from 'drizzle-orm';
import type { Scope } from '../../access/visibility.ts';
import type { OpenDatabase, Snapshot } from '../../store/database.ts';
import type { ShotColumns } from '../columns.ts';
import { compareCodeUnits } from '../compare-code-units.ts';
import { readVersions, type Versions } from '../version-book.ts';
import { ByteDictionary } from './byte-dictionary.ts';
import { bytesInUse, type Chunk, readChunk } from './chunk-layout.ts';
import { GearNames } from './gear-names.ts';
import { LabelBook } from './label-book.ts';
import { type LabOfChunks, readChunks, type Wanted } from './read-chunks.ts';
import { type ChunkNames, shotView, type ViewSource, withLabels } from './shot-view.ts';

interface HeldLab extends LabOfChunks {
  nextOrdinal: number;
  version: number;
  /** Of every chunk that has shots. */
  indices: Set<number>;
  /** Those of them that are in memory. */
  readonly chunks: Map<number, Chunk>;
}

/** One state of all labs; never changed once made. */
interface State {
  readonly versions: Versions;
  readonly chunks: readonly Chunk[];
  readonly names: ChunkNames;
  readonly serial: number;
  readonly views: Map<Scope, ShotColumns>;
}

export interface LiveView {
  readonly versions: Versions;
  readonly columns: ShotColumns;
  /** For threads. */
  readonly source: ViewSource;
  /** In the order of the columns; null when not asked for. */
  readonly labels: readonly string[] | null;
}

/** Scopes whose columns stay laid out. */
const mostScopes = 2;

let stores = 0;

export class ColumnStore {
  readonly #database: OpenDatabase;
  readonly #budget: number;
  readonly #labs = new Map<number, HeldLab>();
  readonly #gear = new GearNames();
  readonly #labels: LabelBook;
  readonly #name: number;
  #epoch = '';
  #serial = 0;
  /** Null while some chunk is not in memory. */
  #state: State | null = null;
  #refreshing: Promise<State> | null = null;
  #bytes = 0;

  /** @param budget bytes of chunks that may be kept; 0 reads everything for every question */
  constructor(database: OpenDatabase, budget: number) {
    this.#database = database;
    this.#budget = budget;
    this.#labels = new LabelBook(database.db);
    stores += 1;
    this.#name = stores;
  }

  /** Bytes of the chunks that are kept. */
  get bytes(): number {
    return this.#bytes;
  }

  /**
   * The shots of a scope, at least as new as the versions given.
   * @param needsLabels whether anybody will read the labels
   */
  async view(scope: Scope, least: Versions, needsLabels: boolean): Promise<LiveView> {
    let state = this.#state;
    while (state === null || !isAsNew(state.versions, least)) state = await this.#refresh();
    const { versions, chunks, names, serial, views } = state;
    const source: ViewSource = { key: `${this.#name}/${serial}/${scope}`, scope, chunks, names };
    const labels = needsLabels ? await this.#labels.of(source, versions) : null;
    let columns = views.get(scope);
    if (columns === undefined) {
      columns = shotView(source, () => {
        throw new Error('labels were not asked for');
      });
      // Laid out columns take as much again as chunks: few scopes at a time.
      for (const old of [...views.keys()].slice(0, Math.max(0, views.size + 1 - mostScopes))) views.delete(old);
      views.set(scope, columns);
    }
    if (labels !== null) columns = withLabels(columns, labels);
    return { versions, columns, source, labels };
  }

  /** One reading at a time; who needs a newer state than is being read waits and asks again. */
  #refresh(): Promise<State> {
    this.#refreshing ??= this.#database
      .snapshot((snapshot) => this.#read(snapshot))
      .finally(() => {
        this.#refreshing = null;
      });
    return this.#refreshing;
  }

  async #read(snapshot: Snapshot): Promise<State> {
    const versions = await readVersions(snapshot.tx);
    if (versions.epoch !== this.#epoch) this.#forget(versions.epoch);
    let read: Chunk[];
    try {
      await this.#gear.read(snapshot.tx);
      const wanted = await this.#wanted(snapshot, versions);
      read = await readChunks(snapshot, this.#labs, wanted);
    } catch (error) {
      // What was asked for again is not known to be there.
      this.#forget('');
      throw error;
    }
    const idOf = new Map([...versions.labs].map(([slug, { id }]) => [slug, id]));
    for (const chunk of read) {
      const lab = this.#labs.get(idOf.get(chunk.lab) as number) as HeldLab;
      lab.chunks.set(chunk.index, chunk);
      lab.indices.add(chunk.index);
    }
    const inOrder = [...this.#labs.values()].sort((a, b) => compareCodeUnits(a.slug, b.slug));
    const chunks = inOrder.flatMap(({ chunks: own }) => [...own.values()].sort((a, b) => a.index - b.index));
    this.#serial += 1;
    const texts = inOrder.map(({ slug, dictionaries: { player, strokeStyle, grip } }) => {
      return [slug, { player: player.names, strokeStyle: strokeStyle.names, grip: grip.names }] as const;
    });
    const names = { gear: this.#gear.names, texts: new Map(texts) };
    const state: State = { versions, chunks, names, serial: this.#serial, views: new Map() };
    this.#state = this.#keepWithin(inOrder) ? state : null;
    return state;
  }

  /** Chunks that changed since they were read, and those that were not kept. */
  async #wanted(snapshot: Snapshot, versions: Versions): Promise<Wanted> {
    const { rows } = await snapshot.tx.execute<{ id: number; next: number }>(
      sql`select id, next_ordinal as next from lab`,
    );
    const nextOrdinals = new Map(rows.map(({ id, next }) => [id, next]));
    const wanted = new Map<number, 'all' | number[]>();
    for (const [slug, { id, version }] of versions.labs) {
      const nextOrdinal = nextOrdinals.get(id) as number;
      const held = this.#labs.get(id);
      if (held === undefined) {
        const dictionaries = {
          player: new ByteDictionary(),
          strokeStyle: new ByteDictionary(),
          grip: new ByteDictionary(),
        };
        this.#labs.set(id, { slug, nextOrdinal, dictionaries, version, indices: new Set(), chunks: new Map() });
        if (nextOrdinal > 1) wanted.set(id, 'all');
        continue;
      }
      const changed = held.version === version ? [] : await this.#changed(snapshot, id, held.version);
      for (const index of changed) {
        held.chunks.delete(index);
        // Read again if it still has shots.
        held.indices.delete(index);
      }
      held.version = version;
      held.nextOrdinal = nextOrdinal;
      const dropped = [...held.indices].filter((index) => !held.chunks.has(index));
      if (changed.length + dropped.length === 0) continue;
      wanted.set(id, held.chunks.size === 0 ? 'all' : [...changed, ...dropped]);
    }
    return wanted;
  }

  async #changed({ tx }: Snapshot, labId: number, since: number): Promise<number[]> {
    const { rows } = await tx.execute<{ chunk: number }>(
      sql`select chunk from hot_chunk where lab_id = ${labId} and version > ${since}`,
    );
    return rows.map(({ chunk }) => chunk);
  }

  /** Drops chunks beyond the budget, the last labs first. @returns whether all could be kept */
  #keepWithin(labs: readonly HeldLab[]): boolean {
    this.#bytes = 0;
    let whole = true;
    for (const { chunks } of labs) {
      for (const [index, chunk] of chunks) {
        const bytes = bytesInUse(readChunk(chunk));
        if (this.#bytes + bytes <= this.#budget) this.#bytes += bytes;
        else {
          chunks.delete(index);
          whole = false;
        }
      }
    }
    return whole;
  }

  #forget(epoch: string): void {
    this.#epoch = epoch;
    this.#labs.clear();
    this.#gear.forget();
    this.#labels.forget();
    this.#state = null;
  }
}

/** Whether a state holds everything that another one does. */
function isAsNew(state: Versions, least: Versions): boolean {
  if (state.epoch !== least.epoch || state.activeMethod !== least.activeMethod) return false;
  for (const [slug, { version }] of least.labs) {
    if ((state.labs.get(slug)?.version ?? -1) < version) return false;
  }
  return true;
}
