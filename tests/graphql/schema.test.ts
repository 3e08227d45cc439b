/** The GraphQL schema of the wire contract agrees with the schemas of REST, and says what everything means. */
import { readFileSync } from 'node:fs';
import { buildSchema, isEnumType, isInputObjectType, isIntrospectionType, isObjectType, validateSchema } from 'graphql';
import { expect, it } from 'vitest';
import { flagNames } from '../../shared/flags.ts';
import { groupingNames, variableNames } from '../../shared/quantities.ts';
import { answersSdl } from '../../src/graphql/answers-sdl.ts';
import { answersFile, schemaText } from '../../src/graphql/schema-text.ts';

const schema = buildSchema(schemaText());
const types = Object.values(schema.getTypeMap()).filter((type) => !isIntrospectionType(type));

it('is valid', () => {
  expect(validateSchema(schema)).toEqual([]);
});

it('holds the answers as the schemas of REST have them: npm run graphql:answers writes them', () => {
  expect(readFileSync(answersFile(), 'utf8')).toBe(answersSdl().sdl);
});

it('describes every field and every argument', () => {
  const silent = types.flatMap((type) => {
    if (!isObjectType(type) && !isInputObjectType(type)) return [];
    return Object.values(type.getFields()).flatMap((field) => {
      const places = [{ name: `${type.name}.${field.name}`, text: field.description }];
      if ('args' in field) {
        for (const argument of field.args) {
          if (argument.name === 'specification') continue;
          places.push({ name: `${type.name}.${field.name}(${argument.name})`, text: argument.description });
        }
      }
      return places.filter(({ text }) => text === null || text === undefined || text.length < 4);
    });
  });
  expect(silent.map(({ name }) => name)).toEqual([]);
});

it('names a unit, SI or a pure number for every number that is a quantity', () => {
  const said =
    /\b(SI|unit|m|s|m\/s|m\/s2|m2\/s3|m2|kg|rad|1\/s|pure number|share|number|p|degrees of freedom|frames?|level|order|power|factor|points|ratio|reliability|probability|cost|value|standard errors)\b/i;
  const bare = types.flatMap((type) =>
    isObjectType(type)
      ? Object.values(type.getFields()).flatMap((field) =>
          /^\[?Float!?\]?!?$/.test(String(field.type)) && !said.test(field.description ?? '')
            ? [`${type.name}.${field.name}: ${field.description}`]
            : [],
        )
      : [],
  );
  expect(bare).toEqual([]);
});

it('has the enumerations of the wire contract', () => {
  const valuesOf = (name: string) => {
    const type = schema.getType(name);
    return isEnumType(type) ? type.getValues().map((value) => value.name) : null;
  };
  expect(valuesOf('Variable')).toEqual([...variableNames]);
  expect(valuesOf('Grouping')).toEqual([...groupingNames]);
  expect(valuesOf('Flag')).toEqual([...flagNames]);
});
