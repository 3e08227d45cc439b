/** The interface description: valid OpenAPI 3.1, complete, with units. */
import { Validator } from '@seriousme/openapi-schema-validator';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { type Service, startService } from './service.ts';

onEachDatabase((open) => {
  let service: Service;
  beforeAll(async () => {
    service = await startService(open());
  });
  afterAll(() => service.app.close());

  it('is valid OpenAPI 3.1 and needs no token', async () => {
    const answer = await service.ask('none', 'GET', '/openapi.json');
    expect(answer.status).toBe(200);
    expect(answer.json.openapi).toBe('3.1.0');
    const validation = await new Validator().validate(answer.json);
    expect(validation.errors ?? []).toEqual([]);
    expect(validation.valid).toBe(true);
  });

  it('describes every route under /v1 with a summary', async () => {
    const { paths } = (await service.ask('none', 'GET', '/openapi.json')).json as {
      paths: Record<string, Record<string, { summary?: string }>>;
    };
    expect(Object.keys(paths).length).toBeGreaterThan(25);
    for (const [path, operations] of Object.entries(paths)) {
      for (const [method, operation] of Object.entries(operations)) {
        expect(operation.summary, `${method} ${path}`).toBeTruthy();
      }
    }
  });

  it('carries the unit of a quantity into the schema of the shot', async () => {
    const { components } = (await service.ask('none', 'GET', '/openapi.json')).json;
    expect(JSON.stringify(components.schemas)).toContain('"x-unit":"m/s"');
  });

  it('gives the dictionary, the flags and the problem codes without a token', async () => {
    const quantities = await service.ask('none', 'GET', '/v1/quantities');
    expect(quantities.json.quantities.find((one: { name: string }) => one.name === 'tipOffset').siUnit).toBe('1');
    const problems = await service.ask('none', 'GET', '/v1/problems');
    for (const problem of problems.json.problems) expect(problem.remedy.length, problem.code).toBeGreaterThan(10);
    const flags = await service.ask('none', 'GET', '/v1/flags');
    expect(flags.json.flags.filter((flag: { leftOut: boolean }) => flag.leftOut).length).toBeGreaterThan(3);
    const methods = await service.ask('none', 'GET', '/v1/methods');
    expect(methods.text).toMatch(/least squares/i);
  });
});
