import { type Html, html, type Part } from './html.js';

/** A column of a table; numbers stand to the right. */
export interface Column<Row> {
  readonly head: string;
  readonly isNumber?: boolean;
  readonly cell: (row: Row) => Part;
}

/** A table of so many rows is not broken over two sheets: at the most a fifth of a sheet stays white before it. */
const WHOLE_MAX = 12;

/** A table with its caption as text for those who cannot see that it is one; "None." where it would have heads alone. */
export function table<Row>(label: string, columns: readonly Column<Row>[], rows: readonly Row[]): Html {
  if (rows.length === 0)
    return html`<p>None.</p>
`;
  const kind = (column: Column<Row>) => (column.isNumber ? html` class="number"` : null);
  return html`<div class="${rows.length > WHOLE_MAX ? 'scroll' : 'scroll whole'}"><table aria-label="${label}">
<thead><tr>${columns.map((column) => html`<th scope="col"${kind(column)}>${column.head}</th>`)}</tr></thead>
<tbody>
${rows.map((row) => html`<tr>${columns.map((column) => html`<td${kind(column)}>${column.cell(row)}</td>`)}</tr>\n`)}</tbody>
</table></div>
`;
}
