import type { Words } from './words.js';

const count = (number: number, one: string, several: string): string =>
  `${number} ${number === 1 ? one : several}`;

const list = (items: readonly string[]): string =>
  items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} y ${items.at(-1)}`;

const part = (yard: string, arm: string | null): string =>
  arm === null ? `Colmenar ${yard}` : `Colmenar ${yard}, ${arm}`;

/** Spanish, with decimal comma. */
export const SPANISH: Words = {
  locale: 'es-ES',
  list,
  title: 'Prueba de sus tiras: lo que vimos',
  yard: (yard, day) => `Colmenar ${yard}, ${day}`,
  arm: ({ active, lot }) =>
    [active, lot === null ? null : `lote ${lot}`].filter((part) => part !== null).join(', '),
  part,

  tested: {
    head: 'Qué se probó',
    how: (minutes) =>
      `Abejas de sus colmenas pasan ${minutes} minutos en vasos con un trozo de tira nueva; un sensor vigila el calor. Se cuentan los ácaros que caen. Luego se lavan las abejas y se cuentan los que quedan.`,
    yard: ({ strip, noStrip, colonies, arms }) =>
      [
        `${count(strip, 'vaso', 'vasos')} con tira`,
        arms.length === 0 ? '' : ` (${list(arms)})`,
        noStrip === 0 ? '' : ` y ${count(noStrip, 'vaso', 'vasos')} sin tira`,
        colonies === 0 ? '' : `, de ${count(colonies, 'colmena', 'colmenas')}`,
        '.',
      ].join(''),
  },

  found: {
    head: 'Qué se vio',
    verdict: (verdict, line) =>
      ({
        'above-line': `sobre la línea del ${line}`,
        'below-line': `bajo la línea del ${line}`,
        undecided: `aún no está claro frente a la línea del ${line}`,
        'too-few': `muy pocos vasos o ácaros para la línea del ${line}`,
      })[verdict],
    range: (low, high, best) =>
      `Cayeron entre ${low} y ${high} de cada 100 ácaros; lo más probable, ${best}.`,
    noRange: (best) => `Cayeron unos ${best} de cada 100 ácaros. Es muy poco para dar un margen.`,
    noStrip: 'Ningún vaso llevaba tira: de la tira no se puede decir nada.',
    noMites: 'En los vasos que cuentan no había ácaros: la prueba no dice nada de la tira.',
    nothingCounts: 'No queda ningún vaso con tira que cuente: la prueba no dice nada de la tira.',
    line: (line) => `Una buena tira hace caer el ${line} de los ácaros o más: es la costumbre.`,
    moreCups: (cups) =>
      cups === null
        ? 'Quizá ni muchos vasos más lo aclaren.'
        : `Con ${count(cups, 'vaso más', 'vasos más')} es muy probable que se aclare.`,
    withLeftOut: (verdict, low, high) =>
      `Con los vasos apartados: ${verdict}${low === null ? '' : `, entre ${low} y ${high} de 100`}.`,
    byPerson: (when, verdict) =>
      ({
        before: `Alguien cambió lo que cuenta cuando aún no se sabían los ácaros. Sin ese cambio: ${verdict}.`,
        after: `Alguien cambió lo que cuenta cuando ya se sabían los ácaros. Sin ese cambio: ${verdict}.`,
        both: `Alguien cambió lo que cuenta, en parte cuando ya se sabían los ácaros. Sin esos cambios: ${verdict}.`,
      })[when],
    corrected: (counts, verdict) =>
      `${count(counts, 'cuenta de ácaros se corrigió', 'cuentas de ácaros se corrigieron')} tras anotarse. Antes: ${verdict}.`,
    withoutEither: (verdict) => `Sin lo uno ni lo otro: ${verdict}.`,
    cool: (cool, of) => `${cool} de ${of} vasos estaban frescos: ahí la tira puede hacer menos.`,
    picture: 'El punto es lo más probable; la barra, el margen.',
    sure: (right, of) => `En ${right} de ${of} pruebas así, la parte verdadera está dentro del margen.`,
    looks: (looks, right, of) =>
      `Hubo más vasos que los previstos, quizá tras ver un resultado. Por mirar ${looks} veces, el margen es más ancho: acierta en ${right} de ${of} pruebas así.`,
    lineLabel: (line) => `línea del ${line}`,
    axis: 'de cada 100 ácaros',
    noEstimate: 'sin resultado',
  },

  colonies: {
    head: 'Ácaros en 100 abejas, colmena por colmena',
    how: (right, of) =>
      `Cada punto es una colmena; la raya fina, su margen, que acierta en ${right} de ${of} cuentas así. Los vasos apartados también cuentan aquí.`,
    axis: 'ácaros en 100 abejas',
    none: 'No se contaron abejas: no se sabe.',
    alt: (colony, per100) => `${colony}: ${per100}`,
    noColony: (cup) => `vaso ${cup}`,
    actionLevel: (level, source, date) =>
      `La línea de trazos es el nivel de usted, ${level} en 100 abejas (${source}, ${date}).`,
  },

  leftOut: {
    head: 'Qué se apartó y por qué',
    none: 'No se apartó ningún vaso.',
    because: (cups, why, names) =>
      `${count(cups, 'vaso', 'vasos')} ${
        {
          cold: cups === 1 ? 'se enfrió demasiado para la tira' : 'se enfriaron demasiado para la tira',
          hot: cups === 1 ? 'se calentó demasiado' : 'se calentaron demasiado',
          short: cups === 1 ? 'acabó antes de tiempo' : 'acabaron antes de tiempo',
          long: cups === 1 ? 'acabó tarde' : 'acabaron tarde',
          unproven: cups === 1 ? 'no se vigiló lo bastante' : 'no se vigilaron lo bastante',
          spoiled: cups === 1 ? 'se estropeó' : 'se estropearon',
          person: cups === 1 ? 'fue apartado por una persona' : 'fueron apartados por una persona',
          unread: cups === 1 ? 'no se contó por completo' : 'no se contaron por completo',
          empty: cups === 1 ? 'no tenía ácaros' : 'no tenían ácaros',
        }[why]
      } (${names}).`,
    byWarmth: (isPersonHeard) =>
      `${isPersonHeard ? 'Salvo lo que cambió alguien, el' : 'El'} calor y el frío los juzgan el sensor y el reloj, no los ácaros.`,
  },

  reasons: {
    head: 'Si está bajo la línea',
    intro: 'Puede que los ácaros ya no mueran con la tira. O bien:',
    items: (lots, { cool, of }) => [
      'Hay tiras en las colmenas, o las hubo hace poco.',
      `Las tiras eran viejas o pasaron calor, o el lote entero${lots.length === 0 ? '' : ` (${list(lots)})`} es flojo.`,
      ...(cool === 0 ? [] : [`${cool} de ${of} vasos estaban frescos.`]),
      'Con pocos ácaros, el azar pesa mucho.',
    ],
  },
  limits: {
    head: 'Lo que la prueba no dice',
    text: 'Un vaso no es una colmena. Que vaya bien en el vaso no asegura que un tratamiento funcione en la colmena. Allí cuentan también la cría, el tiempo y dónde se ponen las tiras.',
  },
  again: {
    head: 'Cuándo repetirla',
    text: 'Antes de volver a confiar en esta clase de tira, y con cada lote nuevo. Tome la muestra cuando no haya tiras en la colmena.',
    moreCups: 'Donde no está claro, pruebe más vasos de más colmenas.',
    lacks: {
      cold: 'Donde los vasos se enfriaron, repita la prueba con vasos que no pierdan el calor.',
      hot: 'Donde los vasos se calentaron, repita la prueba lejos del calor.',
      short: 'Donde los vasos acabaron antes de tiempo, repita la prueba con el tiempo entero.',
      long: 'Donde los vasos acabaron tarde, repita la prueba y acábela a su hora.',
      unproven: 'Donde los vasos no se vigilaron bien, haga revisar los sensores y repita la prueba.',
      spoiled: 'Donde los vasos se estropearon, repita la prueba con otros.',
      person: 'Donde una persona apartó vasos, repita la prueba con otros.',
      unread: 'Donde faltan vasos por contar, que se cuenten; si ya no están, repita la prueba.',
      cups: 'Donde hubo pocos vasos, repita la prueba con más.',
      hives: 'Donde todos los vasos eran de una colmena, tome los próximos de varias.',
      mites: 'Donde hubo pocos ácaros, espere a que haya más.',
    },
  },
  cautions: {
    head: 'Antes de hacer nada',
    text: 'Primero la etiqueta del producto y luego las normas de su zona. Hable con su asesor apícola antes de tratar. Esta hoja no le dice que trate ni que no trate.',
  },

  waiting: {
    title: 'Prueba de sus tiras: aún sin terminar',
    head: (step) =>
      ({
        load: 'Sin terminar: aún no hay vasos',
        turn: 'Sin terminar: la prueba sigue en marcha',
        tray: 'Sin terminar: faltan las bandejas',
        wash: 'Sin terminar: falta el lavado',
      })[step],
    note: (step) =>
      `${
        {
          load: 'Aún no hay ningún vaso.',
          turn: 'Algunas abejas siguen con la tira.',
          tray: 'Aún no se contaron todos los ácaros de las bandejas.',
          wash: 'Hoy solo se pudieron contar los ácaros de las bandejas.',
        }[step]
      } Nadie puede decir cómo funcionó la tira antes de lavar las abejas: no se sabe cuántos ácaros quedan en ellas. Por eso esta hoja no da resultado para estos vasos.`,
    count: (done, of) => `${done} de ${count(of, 'vaso listo', 'vasos listos')}.`,
    cup: 'vaso',
    colony: 'colmena',
    tray: 'en bandeja',
    next: 'falta',
    steps: { turn: 'acabar la prueba', tray: 'bandeja y lavado', wash: 'lavado', none: 'nada' },
  },

  message: {
    head: 'Para enviar por mensaje',
    range: (yard, low, high, verdict) =>
      `${yard}: cayeron ${low} a ${high} de 100, ${verdict}. Es una prueba en vaso; primero la etiqueta.`,
    noRange: (yard, verdict) => `${yard}: ${verdict}. Es una prueba en vaso; primero la etiqueta.`,
    noStrip: (yard) => `${yard}: ningún vaso llevaba tira, sin resultado.`,
    waiting: (yard, step) =>
      `${yard}: ${
        {
          load: 'aún no hay vasos',
          turn: 'la prueba sigue en marcha',
          tray: 'faltan las bandejas por contar',
          wash: 'la cuenta no ha terminado, falta el lavado',
        }[step]
      }. Antes no hay resultado.`,
  },

  foot: {
    made: (when, version) => `Hecha ${when} con stillwarm ${version}.`,
    rules: (name, version) => `Reglas ${name} ${version}.`,
    chain: (store, facts, hash) => `Registro ${store}: ${facts} hechos, cabeza ${hash}.`,
  },
};
