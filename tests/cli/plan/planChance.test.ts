import { describe, expect, it } from 'vitest';
import { run } from '../run.js';

const QUICK = ['--efficacy', '0.3..0.9/0.3', '--runs', '400'];

describe('plan chance', () => {
  it('says for each efficacy how likely each answer is, in 80 columns', async () => {
    const { code, out } = await run(['plan', 'chance', '--per100', '1,3,5,8', ...QUICK]);
    expect(code).toBe(0);
    expect(out).toContain('Chance of each answer about the 70 % line, 10 cups with a strip in a yard');
    expect(out).toMatch(/^30 % +\d+ % +\d+ % +<1 %/m);
    expect(out).toContain('8 mites on 100 bees');
    expect(Math.max(...out.split('\n').map(({ length }) => length))).toBeLessThanOrEqual(80);
  });

  it('says in a sentence that ten cups at three mites each decide only clear cases', async () => {
    const { out } = await run(['plan', 'chance', '--mites', '3', '--efficacy', '0.3..0.98/0.04']);
    expect(out.replace(/\s+/g, ' ')).toContain(
      '10 cups at 3 mites in each cup decide only clear cases: a true efficacy of 34 % or less is put below the 70 % line, one of 98 % or more above it, at least 80 % of the time.',
    );
    expect(out).toContain('chances are exact');
  });

  it('says it of one side alone, of none, and of one cup', async () => {
    const said = async (...args: string[]) =>
      (await run(['plan', 'chance', '--runs', '400', ...args])).out.replace(/\s+/g, ' ');
    expect(await said('--per100', '3', '--efficacy', '0.3..0.8/0.1')).toContain(
      'of 40 % or less is put below the 70 % line, at least 80 % of the time. None from 70 % to 80 % is put above it so often.',
    );
    expect(await said('--per100', '5', '--efficacy', '0.6..0.95/0.35')).toContain(
      'of 95 % or more is put above the 70 % line, at least 80 % of the time. One of 60 % is put below it less often.',
    );
    expect(await said('--per100', '3', '--cups', '1', '--efficacy', '0.5')).toContain(
      '1 cup at 3 mites on 100 bees (9 in a cup) decides nothing: an answer takes 5 cups with mites at least.',
    );
  });

  it('says what it assumed and how far it may be off', async () => {
    const { out } = await run(['plan', 'chance', '--per100', '3', ...QUICK]);
    for (const words of [
      '10 % of the cups are lost',
      'rho 0.1',
      'size 1.5',
      '300 bees',
      'within 4.9 points',
      'rule set default 1',
    ])
      expect(out.replace(/\s+/g, ' ')).toContain(words);
  });

  it('takes line and least cups from the rule set', async () => {
    const { out } = await run([
      'plan',
      'chance',
      '--rules',
      'tests/cli/plan/half.json',
      '--per100',
      '3',
      ...QUICK,
    ]);
    expect(out).toContain('the 50 % line');
    expect(out).toContain('rule set half 2');
  });

  it.each([
    [['--per100', '0.01', '--efficacy', '0.3'], '10 cups at 0.01 mites on 100 bees (0.03 in a cup)'],
    [
      ['--per100', '1', '--efficacy', '0.5'],
      'a true efficacy of 50 % is put on its side of the 70 % line less often than 80 % of the time.',
    ],
  ])('says of %j what it comes to', async (args, words) => {
    const { out } = await run(['plan', 'chance', ...args, '--runs', '400']);
    expect(out.replace(/\s+/g, ' ')).toContain(words);
  });

  it('prints the same as JSON', async () => {
    const { out } = await run(['plan', 'chance', '--per100', '3', '--json', ...QUICK]);
    const { assumed, infestations } = JSON.parse(out);
    expect(assumed).toMatchObject({
      cups: 10,
      lost: 0.1,
      rho: 0.1,
      line: 0.7,
      minCups: 5,
      minMites: 20,
      level: 0.95,
    });
    expect(infestations[0]).toMatchObject({ per100: 3, mitesPerCup: 9 });
    expect(infestations[0].efficacies.map(({ efficacy }: { efficacy: number }) => efficacy)).toEqual([
      0.3, 0.6, 0.9,
    ]);
    const { aboveLine, undecided, belowLine, tooFew } = infestations[0].efficacies[0];
    expect(aboveLine + undecided + belowLine + tooFew).toBeCloseTo(1, 12);
  });

  it.each([
    [['--per100', '1;3'], 1, '--per100 1;3 is no number of mites on 100 bees'],
    [['--per100', '0'], 1, '--per100 0 is no number'],
    [['--efficacy', '70'], 1, '--efficacy 70 is no range'],
    [['--efficacy', '0.9..0.3'], 1, '--efficacy 0.9..0.3 is no range'],
    [['--cups', '101'], 1, '--cups 101 will not do; write a whole number from 1 to 100'],
    [['--lost', '10'], 1, '--lost 10 will not do'],
    [['--per100', '3', '--mites', '3'], 2, 'give one'],
  ])('refuses %j in a sentence', async (args, code, sentence) => {
    const ran = await run(['plan', 'chance', ...args]);
    expect([ran.code, ran.out]).toEqual([code, '']);
    expect(ran.err.replace(/\s+/g, ' ')).toContain(sentence);
  });
});
