import { askWords, firstOpen } from './asking.js';
import type { Form, Question } from './form.js';

/** What is set for this screen, as forms: nothing of it is recorded. A number alone changes nothing by mistake. */

const askEnter = (prompt: string): Question => ({
  key: 'sure',
  prompt,
  otherwise: '',
  choices: [],
  check: (answer) => (answer === '' ? null : 'Press Enter alone, or * to go back.'),
});

const setting = (name: string, title: string, ask: Form['ask']): Form => ({
  name,
  title,
  isTimed: false,
  isLookup: true,
  ask,
  summary: () => title,
  facts: () => [],
  zone: (_answers, { zone }) => zone,
});

export const WHO: Form = setting(
  'who',
  'Who enters from now on: the name stands beside each entry',
  (answers, { who, names }) =>
    firstOpen(answers, [
      'who',
      () =>
        askWords(
          'who',
          `Whose name?${who === null ? '' : ` Enter: ${who}, as before`}`,
          who,
          names().filter((name) => name !== who),
        ),
    ]),
);

export const MUTE: Form = setting('mute', 'The sound of alarms', (answers, { isMuted }) =>
  firstOpen(answers, [
    'sure',
    () =>
      askEnter(
        isMuted
          ? 'Let alarms sound again? Enter: yes'
          : 'Mute all alarms of this screen? They are still shown. Enter: mute',
      ),
  ]),
);

export const QUIT: Form = setting('quit', 'Close the screen', (answers) =>
  firstOpen(answers, ['sure', () => askEnter('Close the screen? Logging goes on. Enter: close')]),
);
