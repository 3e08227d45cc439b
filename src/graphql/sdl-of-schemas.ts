/**
 * GraphQL type definitions from the zod schemas that REST answers with, so that both interfaces give the same names,
 * the same values and the same descriptions. What GraphQL cannot say is flattened by stated rules: see each function.
 */
import { z } from 'zod';

type Json = z.core.JSONSchema._JSONSchema;
type Node = Exclude<Json, boolean>;

export interface SdlSource {
  /** Types to answer with; each must carry an id. */
  readonly outputs: readonly z.ZodType[];
  /** Types to ask with; they are named by their id and `Input`. */
  readonly inputs: readonly z.ZodType[];
  /** Names of enumerations by the place that decides them: 'Type.field', or the sorted values joined by blanks. */
  readonly enumNames: Readonly<Record<string, string>>;
  /** What fields mean that have no description of their own: by 'Type.field', or by name. */
  readonly words: Readonly<Record<string, string>>;
  /** In what a field is counted, by 'Type.field': appended to its description. */
  readonly units: Readonly<Record<string, string>>;
  /** Scalars by 'Type.field', for what has no type of its own: values that are a number or a text, free JSON. */
  readonly scalars: Readonly<Record<string, string>>;
}

interface Field {
  readonly type: string;
  readonly required: boolean;
  readonly description: string | null;
}

class Writer {
  readonly blocks = new Map<string, string>();
  readonly #source: SdlSource;
  readonly #input: boolean;
  readonly #definitions: Readonly<Record<string, Json>>;
  readonly #undescribed: string[];

  constructor(
    source: SdlSource,
    input: boolean,
    definitions: Readonly<Record<string, Json>>,
    blocks: Map<string, string>,
    undescribed: string[],
  ) {
    this.#source = source;
    this.#input = input;
    this.#definitions = definitions;
    this.blocks = blocks;
    this.#undescribed = undescribed;
  }

  /** Writes a named definition and everything it needs; gives its name in GraphQL. */
  named(id: string): string {
    const name = this.#typeName(id);
    if (!this.blocks.has(name)) {
      const node = this.#definitions[id];
      if (node === undefined || typeof node === 'boolean') throw new Error(`There is no definition ${id}.`);
      this.#writeObject(name, node, id);
    }
    return name;
  }

  #typeName(id: string): string {
    return this.#input && !id.endsWith('Input') ? `${id}Input` : id;
  }

  #writeObject(name: string, node: Node, id: string): void {
    this.blocks.set(name, '');
    const variants = node.oneOf ?? node.anyOf;
    const fields = variants === undefined ? this.#fieldsOf(node, id) : this.#fieldsOfVariants(variants, id);
    const lines = [...fields].map(([field, { type, required, description: own }]) => {
      const words = this.#source.words;
      const said = (own !== null && own.length > 4 ? own : null) ?? words[`${id}.${field}`] ?? words[field] ?? null;
      const counted = this.#source.units[`${id}.${field}`];
      const description = said === null || counted === undefined ? said : `${said} ${counted}`;
      if (description === null) this.#undescribed.push(`${id}.${field}`);
      const text = description === null ? '' : `  ${quoted(description)}\n`;
      return `${text}  ${field}: ${type}${required ? '!' : ''}`;
    });
    const head = node.description === undefined ? '' : `${quoted(node.description)}\n`;
    this.blocks.set(name, `${head}${this.#input ? 'input' : 'type'} ${name} {\n${lines.join('\n')}\n}`);
  }

  #fieldsOf(node: Node, id: string): Map<string, Field> {
    if (node.type !== 'object' || node.properties === undefined) throw new Error(`${id} is not an object.`);
    const required = new Set(node.required ?? []);
    return new Map(
      Object.entries(node.properties).map(([field, property]) => {
        const { type, nullable } = this.#typeOf(property, `${id}.${field}`);
        const description = typeof property === 'boolean' ? null : this.#describe(property);
        return [field, { type, required: required.has(field) && !nullable, description }];
      }),
    );
  }

  /** Variants become one type: what only some of them have may be null, and their kinds become one enumeration. */
  #fieldsOfVariants(variants: readonly Json[], id: string): Map<string, Field> {
    const objects = variants.map((variant) => this.#resolve(variant));
    const fields = new Map<string, Field>();
    for (const name of new Set(objects.flatMap((object) => Object.keys(object.properties ?? {})))) {
      const given = objects.filter((object) => object.properties?.[name] !== undefined);
      const merged = mergeEnumerations(given.map((object) => object.properties?.[name] ?? false));
      const read = given.map((object) =>
        this.#fieldsOf({ ...object, properties: { [name]: merged ?? object.properties?.[name] ?? false } }, id).get(
          name,
        ),
      );
      const known = read.filter((field) => field !== undefined);
      const [first] = known;
      if (first === undefined) continue;
      if (known.some(({ type }) => type !== first.type)) return fail(`${id}.${name}`);
      const descriptions = [...new Set(known.map(({ description }) => description).filter((text) => text !== null))];
      fields.set(name, {
        type: first.type,
        required: known.length === objects.length && known.every((field) => field.required),
        description: descriptions.length === 0 ? null : descriptions.join(' '),
      });
    }
    return fields;
  }

  #resolve(node: Json): Node {
    if (typeof node === 'boolean') throw new Error('A schema that allows everything or nothing has no type.');
    const id = node.$ref?.replace('#/$defs/', '');
    return id === undefined ? node : this.#resolve(this.#definitions[id] ?? false);
  }

  #describe(node: Node): string | null {
    const text = node.description ?? null;
    if (!this.#input || node.default === undefined) return text;
    const standing = `When not given: ${JSON.stringify(node.default)}.`;
    return text === null ? standing : `${text} ${standing}`;
  }

  #typeOf(property: Json, place: string): { type: string; nullable: boolean } {
    const scalar = this.#source.scalars[place];
    if (typeof property === 'boolean') return { type: scalar ?? fail(place), nullable: true };
    const nullable = allowsNull(property);
    if (scalar !== undefined) return { type: scalar, nullable: nullable || allowsAnything(property) };
    const node = withoutNull(property);
    if (node.$ref !== undefined) {
      const id = node.$ref.replace('#/$defs/', '');
      return { type: this.#reference(id, place), nullable };
    }
    return { type: this.#plainType(node, place), nullable };
  }

  #reference(id: string, place: string): string {
    const node = this.#definitions[id];
    if (typeof node === 'object' && node.type !== 'object' && node.oneOf === undefined && node.anyOf === undefined) {
      return this.#plainType(node, place);
    }
    return this.named(id);
  }

  #plainType(node: Node, place: string): string {
    if (node.enum !== undefined) return this.#enumeration(node.enum.map(String), place);
    if (node.type === 'string')
      return node.const === undefined ? 'String' : this.#enumeration([String(node.const)], place);
    if (node.type === 'number') return 'Float';
    if (node.type === 'integer') return 'Int';
    if (node.type === 'boolean') return 'Boolean';
    if (node.type === 'array') {
      const items = node.items === false || node.items === undefined ? node.prefixItems?.[0] : node.items;
      if (items === undefined || Array.isArray(items)) return fail(place);
      const { type, nullable } = this.#typeOf(items, place);
      return `[${type}${nullable ? '' : '!'}]`;
    }
    if (node.type === 'object' || node.oneOf !== undefined || node.anyOf !== undefined) {
      const [id = '', field = ''] = place.split('.');
      const name = `${id}${field.charAt(0).toUpperCase()}${field.slice(1)}`;
      const written = this.#typeName(name);
      if (!this.blocks.has(written)) this.#writeObject(written, node, name);
      return written;
    }
    return fail(place);
  }

  #enumeration(values: readonly string[], place: string): string {
    const [id = '', field = ''] = place.split('.');
    const own = `${id}${field.charAt(0).toUpperCase()}${field.slice(1)}`;
    const name = this.#source.enumNames[place] ?? this.#source.enumNames[enumerationKey(values)] ?? own;
    const block = `enum ${name} {\n${values.map((value) => `  ${value}`).join('\n')}\n}`;
    const standing = this.blocks.get(name);
    if (standing !== undefined && standing !== block)
      throw new Error(`${name} at ${place} would name two enumerations.`);
    this.blocks.set(name, block);
    return name;
  }
}

/** The kinds of all variants as one enumeration; null when they are not all texts from a list. */
function mergeEnumerations(properties: readonly Json[]): Node | null {
  const values = properties.map((property) => {
    if (typeof property === 'boolean') return null;
    if (typeof property.const === 'string') return [property.const];
    return property.enum ?? null;
  });
  if (values.some((value) => value === null)) return null;
  return { type: 'string', enum: [...new Set(values.flat())] as string[] };
}

function fail(place: string): never {
  throw new Error(`${place} has no type in GraphQL; name a scalar for it.`);
}

function allowsAnything(node: Node): boolean {
  return node.type === undefined && node.$ref === undefined && node.anyOf === undefined && node.oneOf === undefined;
}

function allowsNull(node: Node): boolean {
  if (Array.isArray(node.type)) return (node.type as string[]).includes('null');
  return (node.anyOf ?? []).some((one) => typeof one === 'object' && one.type === 'null');
}

/** The same without null; one variant that is left stands for itself. */
function withoutNull(node: Node): Node {
  if (Array.isArray(node.type)) {
    const rest = (node.type as string[]).filter((type) => type !== 'null');
    return rest.length === 1 ? ({ ...node, type: rest[0] } as Node) : node;
  }
  const rest = (node.anyOf ?? []).filter((one) => typeof one === 'boolean' || one.type !== 'null');
  const [only] = rest;
  if (node.anyOf === undefined || rest.length !== 1 || typeof only !== 'object') return node;
  return { ...only, ...(node.description === undefined ? {} : { description: node.description }) };
}

/** Key of an enumeration among the names given to it: its values whatever their order. */
export function enumerationKey(values: readonly string[]): string {
  return [...values].sort().join(' ');
}

/** A description as GraphQL writes it. */
function quoted(text: string): string {
  return JSON.stringify(text);
}

/**
 * The definitions of all named types, in the order in which they are first needed.
 *
 * @throws Error for what has no type in GraphQL and no scalar, and for one name that would mean two things
 */
export function sdlOfSchemas(source: SdlSource): { readonly sdl: string; readonly undescribed: readonly string[] } {
  const blocks = new Map<string, string>();
  const undescribed: string[] = [];
  for (const [schemas, io] of [
    [source.outputs, 'output'],
    [source.inputs, 'input'],
  ] as const) {
    for (const schema of schemas) {
      const whole = z.toJSONSchema(schema, { io, unrepresentable: 'any' });
      const id = whole.$ref?.replace('#/$defs/', '') ?? '';
      new Writer(source, io === 'input', whole.$defs ?? {}, blocks, undescribed).named(id);
    }
  }
  return { sdl: `${[...blocks.values()].join('\n\n')}\n`, undescribed };
}
