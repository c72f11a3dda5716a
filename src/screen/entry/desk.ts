import type { CupLabel } from '../../units/ids.js';
import { isMove, type Move } from '../controls.js';
import { TRAY, WASH } from './countForms.js';
import { LOAD, REPLACE, TURN } from './eventForms.js';
import {
  begun,
  CONFIRM,
  enter,
  type Filling,
  type Form,
  type Known,
  otherName,
  questionOf,
  stepBack,
} from './form.js';
import { CORRECT, WITHDRAW } from './mendForms.js';
import { type Choosable, chosenBy } from './menu.js';
import { MUTE, QUIT, WHO } from './screenForms.js';
import { CLOSE_VISIT, OPEN_VISIT, RESULTS } from './visitForms.js';

/**
 * What the crew is doing at the screen: what they look at, what they type, which form they fill in. Pure: a key makes
 * another desk, and perhaps something for the session to do. Whatever else happens, alarms or a lost connection, leaves
 * the desk alone.
 */
export interface Desk {
  readonly page: Page;
  /** What is typed while no form is open. */
  readonly line: string;
  readonly filling: Filling | null;
  /** What the last key came to, in a sentence. */
  readonly said: { readonly text: string; readonly isProblem: boolean } | null;
  /** What was recorded last, to be withdrawn. */
  readonly last: Recorded | null;
}

export type Page =
  | { readonly shows: 'picture' }
  | { readonly shows: 'cup'; readonly cup: CupLabel }
  | { readonly shows: 'help' }
  | { readonly shows: 'results'; readonly visit: string };

export interface Recorded {
  readonly form: Form;
  readonly cup: CupLabel | null;
  /** Numbers of its facts. */
  readonly seqs: readonly number[];
}

export const PICTURE: Page = { shows: 'picture' };
export const CLEAR_DESK: Desk = { page: PICTURE, line: '', filling: null, said: null, last: null };

/** A key: what a person typed, or the name of a key that types nothing. */
export type Press = { readonly typed: string } | NamedKey;
export type NamedKey = 'enter' | 'backspace' | 'back' | 'quit' | Move;

/** What the session has to do for a key. */
export type Act =
  | { readonly does: 'record'; readonly filling: Filling }
  | { readonly does: 'results'; readonly visit: string }
  | { readonly does: 'acknowledge' | 'mute' | 'unit' | 'theme' | 'quit' }
  | { readonly does: 'name'; readonly who: string }
  | { readonly does: 'turn-page'; readonly key: Move | 'more' };

export interface Pressed {
  readonly desk: Desk;
  readonly act: Act | null;
}

const stay = (desk: Desk): Pressed => ({ desk, act: null });
const says = (desk: Desk, text: string): Pressed =>
  stay({ ...desk, line: '', said: { text, isProblem: true } });

/** Keys of their own, as long as nothing is typed and no form is open. Capitals and digits begin a label or a number. */
const HOTKEYS: Readonly<Record<string, Act | 'help' | 'undo' | Form>> = {
  q: { does: 'quit' },
  f: { does: 'unit' },
  '/': { does: 'unit' },
  m: { does: 'mute' },
  t: { does: 'theme' },
  a: { does: 'acknowledge' },
  '?': 'help',
  '.': 'help',
  h: 'help',
  u: 'undo',
  w: WHO,
  '-': { does: 'turn-page', key: 'more' },
};
/** On the number pad, and in no label: they work while a form is open, too, but inside of words. */
const ACKNOWLEDGE = '+';
const BACK = '*';
/** Only before anything is typed, for labels and words have these signs inside: the next offers, and another name. */
const MORE = '-';
const OTHER_NAME = '/';

export function press(desk: Desk, key: Press, known: Known): Pressed {
  if (key === 'quit') return { desk, act: { does: 'quit' } };
  if (isMove(key)) return { desk, act: { does: 'turn-page', key } };
  const typed = typeof key === 'object' && !isWriting(desk, known) ? key.typed : null;
  if (key === 'back' || typed === BACK) return stay(goBack(desk));
  if (typed === ACKNOWLEDGE) return { desk, act: { does: 'acknowledge' } };
  if (desk.filling !== null) return inForm(desk, desk.filling, key, known);
  if (key === 'enter') return entered({ ...desk, said: null }, known);
  if (key === 'backspace') return stay({ ...desk, line: desk.line.slice(0, -1) });
  const { typed: letter } = key as { typed: string };
  const hot = desk.line === '' ? HOTKEYS[letter] : undefined;
  if (hot !== undefined)
    return typeof hot === 'object' && 'does' in hot ? { desk, act: hot } : choose(desk, hot, known);
  return stay({ ...desk, line: desk.line + letter, said: null });
}

/** Whether somebody is in the middle of an answer in words. */
const isWriting = ({ filling }: Desk, known: Known): boolean =>
  filling !== null && filling.typed !== '' && questionOf(filling, known).isInWords === true;

function inForm(desk: Desk, filling: Filling, key: Press, known: Known): Pressed {
  const typing = (typed: string) =>
    stay({ ...desk, said: null, filling: { ...filling, typed, problem: null } });
  if (key === 'backspace') return typing(filling.typed.slice(0, -1));
  if (key !== 'enter' && filling.typed === '') {
    const question = questionOf(filling, known);
    const { typed } = key as { typed: string };
    if (typed === MORE && question.choices.length > 0)
      return stay({ ...desk, filling: { ...filling, offers: filling.offers + 1 } });
    const other = typed === OTHER_NAME && question.key === CONFIRM ? otherName(known) : null;
    if (other !== null) return { desk, act: { does: 'name', who: other } };
  }
  // What was refused stands there to be mended with backspace; a label that is scanned next begins anew.
  if (key !== 'enter')
    return typing((filling.problem === null ? filling.typed : '') + (key as { typed: string }).typed);
  const { filling: next, isComplete } = enter(filling, known);
  if (isComplete && next.form.isLookup === true) return lookedUp({ ...desk, filling: null }, next, known);
  const after = { ...desk, said: null, filling: next };
  return isComplete ? { desk: after, act: { does: 'record', filling: next } } : stay(after);
}

/** What comes of a form that records nothing. */
function lookedUp(desk: Desk, filling: Filling, known: Known): Pressed {
  const told = (text: string, act: Act): Pressed => ({
    desk: { ...desk, said: { text, isProblem: false } },
    act,
  });
  switch (filling.form) {
    case WHO: {
      const who = filling.answers.get('who')!;
      return told(`${who} enters from now on.`, { does: 'name', who });
    }
    case MUTE:
      return told(known.isMuted ? 'Alarms sound again.' : 'Mute: alarms are shown, and make no sound.', {
        does: 'mute',
      });
    case QUIT:
      return { desk, act: { does: 'quit' } };
    default:
      return opened(desk, filling);
  }
}

function goBack(desk: Desk): Desk {
  if (desk.filling !== null) return { ...desk, said: null, filling: stepBack(desk.filling) };
  if (desk.line !== '') return { ...desk, line: '' };
  return { ...desk, said: null, page: PICTURE };
}

/** Enter outside a form: a number of the list, or a label as a scanner types it. */
function entered(desk: Desk, known: Known): Pressed {
  const typed = desk.line.trim();
  if (typed === '') return desk.page.shows === 'picture' ? stay(desk) : stay({ ...desk, page: PICTURE });
  const chosen = chosenBy(typed);
  if (chosen !== null) return choose({ ...desk, line: '' }, chosen, known);
  const cup = known.season.cups.get(typed as CupLabel);
  if (cup) return stay({ ...desk, line: '', page: { shows: 'cup', cup: cup.cup } });
  return says(desk, `${typed} is neither a number of the list nor the label of a cup.`);
}

/** Forms that are not about a cup that is there already. */
const WITHOUT_CUP: ReadonlySet<Choosable> = new Set<Choosable>([
  LOAD,
  OPEN_VISIT,
  CLOSE_VISIT,
  WHO,
  MUTE,
  QUIT,
]);

function choose(desk: Desk, chosen: Choosable, known: Known): Pressed {
  if (chosen === 'help') return stay({ ...desk, page: { shows: 'help' } });
  if (chosen === 'undo') return takeBack(desk, known);
  if (chosen === 'theme') return { desk, act: { does: 'theme' } };
  if (chosen === RESULTS) {
    const filling = begun(RESULTS);
    return RESULTS.ask(filling.answers, known) === null
      ? opened(desk, filling, onlyVisit(known))
      : stay({ ...desk, said: null, filling });
  }
  const { page } = desk;
  const isAbout = page.shows === 'cup' && !WITHOUT_CUP.has(chosen);
  const question = isAbout ? chosen.ask(new Map(), known) : null;
  // The cup that is looked at is an answer like any other: one that will not do is refused before anything else is asked.
  const problem = question?.key === 'cup' && isAbout ? question.check(page.cup) : null;
  const answers = new Map(isAbout && problem === null ? [['cup', page.cup]] : []);
  return stay({ ...desk, said: null, filling: { ...begun(chosen, answers), problem } });
}

const onlyVisit = ({ season }: Known): string => [...season.visits.keys()][0] as string;

const opened = (desk: Desk, { answers }: Filling, visit = answers.get('visit')!): Pressed => ({
  desk: { ...desk, said: null, page: { shows: 'results', visit } },
  act: { does: 'results', visit },
});

/** Taking back is a correction with a reason: nothing that was entered is ever gone. */
function takeBack(desk: Desk, known: Known): Pressed {
  const { last } = desk;
  if (last === null) return says(desk, 'Nothing was entered here that could be withdrawn.');
  if (last.cup === null)
    return says(desk, 'What was entered last is about a visit; a visit is closed, not withdrawn.');
  if (last.form === REPLACE)
    return says(
      desk,
      `A replacement is not withdrawn: cup ${last.cup} stays replaced; correct its entries, or note why.`,
    );
  if (last.form === LOAD)
    return says(desk, `A load is not withdrawn, cup ${last.cup} stays on record: spoil it, or correct it.`);
  if (last.form === CORRECT)
    return says(
      desk,
      `A correction of cup ${last.cup} is not withdrawn here; correct or enter it once more.`,
    );
  const entry = known.season.cups.get(last.cup)?.entries.find(({ seq }) => last.seqs.includes(seq));
  if (!entry) return says(desk, `What was entered for cup ${last.cup} cannot be withdrawn; correct it.`);
  const answers = new Map([
    ['cup', last.cup as string],
    ['entry', String(entry.seq)],
    ['field', WITHDRAW],
  ]);
  return stay({ ...desk, said: null, filling: begun(CORRECT, answers) });
}

/** Ten cups in a row are loaded, turned and counted: these forms begin anew. */
const REPEATED: ReadonlySet<Form> = new Set([LOAD, TURN, TRAY, WASH]);

/** The desk after a form was recorded. */
export function afterRecord(desk: Desk, recorded: Recorded, sentence: string): Desk {
  const { form } = recorded;
  const isRepeated = REPEATED.has(form) && desk.page.shows === 'picture';
  return {
    ...desk,
    filling: isRepeated ? begun(form) : null,
    said: { text: sentence, isProblem: false },
    last: recorded,
  };
}

/** The desk after a form could not be recorded: all of it stays, to be changed. */
export const afterRefusal = (desk: Desk, sentence: string): Desk =>
  desk.filling === null ? desk : { ...desk, filling: { ...desk.filling, problem: sentence } };
