"""The style sheet of a page to take away: light only, for phones, screens, A4 and Letter."""

STYLE = """
:root { color-scheme: light; --ink: #22262e; --soft: #575c67; --line: #dcd6ca;
  --accent: #0c6470; --warn: #8f5200; --wash: #fbeed6; }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; text-size-adjust: 100%; background: #fff; }
body { margin: 0 auto; padding: 2.5rem 1.25rem 3rem; max-width: 48rem; color: var(--ink);
  font: 1rem/1.55 Seravek, "Gill Sans Nova", Ubuntu, Calibri, "Segoe UI", "Noto Sans",
  "DejaVu Sans", sans-serif; overflow-wrap: break-word; }
h1, h2, h3 { font-family: "Iowan Old Style", "Palatino Linotype", Palatino, "URW Palladio L",
  P052, "Noto Serif", "DejaVu Serif", Georgia, serif; line-height: 1.2; text-wrap: balance;
  break-after: avoid; }
h1 { font-size: 2.1rem; margin: 0; }
h2 { font-size: 1.4rem; margin: 2.4rem 0 .7rem; padding-top: .8rem;
  border-top: 1px solid var(--line); color: var(--accent); }
h3 { font-size: 1.1rem; margin: 1.5rem 0 .4rem; }
p, ul { margin: 0 0 .8rem; orphans: 3; widows: 3; }
ul { padding-left: 1.2rem; }
li { margin-bottom: .3rem; break-inside: avoid; }
.subtitle { font-size: 1.1rem; color: var(--soft); margin: .4rem 0 1.2rem; }
.caution { padding: .7rem 1rem; border-left: 4px solid var(--warn); background: var(--wash);
  break-inside: avoid; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
.wide { overflow-x: auto; margin: 1rem 0 1.3rem; break-inside: avoid; }
table { border-collapse: collapse; width: 100%; font-size: .92rem; line-height: 1.35;
  font-variant-numeric: tabular-nums; }
caption { text-align: left; font-weight: 600; padding-bottom: .4rem; break-after: avoid; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { padding: .32rem .7rem .32rem 0; text-align: left; vertical-align: top;
  border-bottom: 1px solid var(--line); }
th:last-child, td:last-child { padding-right: 0; }
thead th { color: var(--soft); font-weight: 600; border-bottom: 2px solid var(--line);
  vertical-align: bottom; }
tbody th { font-weight: 400; }
th.number, td.number { text-align: right; padding-right: 1.6rem; }
figure { margin: 1.4rem 0 1.8rem; break-inside: avoid; }
figure > .wide { margin: 0; }
figure svg { display: block; width: 100%; height: auto; }
figcaption { color: var(--soft); font-size: .92rem; margin-top: .5rem; }
.abreast { display: grid; gap: 0 1.6rem; align-items: start; }
.abreast figure { min-width: 0; margin: .9rem 0 1.2rem; }
.abreast figure svg { min-width: 0; }
@media print, (min-width: 44rem) { .abreast { grid-template-columns: 1fr 1fr; } }
footer { margin-top: 2.5rem; padding-top: .8rem; border-top: 1px solid var(--line);
  color: var(--soft); font-size: .88rem; break-inside: avoid; }
@media (max-width: 34rem) {
  body { padding: 1.4rem 1rem 2rem; }
  h1 { font-size: 1.65rem; }
  table { font-size: .88rem; }
  th.number, td.number { padding-right: .9rem; }
  figure svg { min-width: 34rem; }
}
@page { margin: 17mm 16mm 18mm; @bottom-right { content: counter(page) " / " counter(pages);
  font: 9pt sans-serif; color: #575c67; } }
@media print {
  body { max-width: none; padding: 0; font-size: 10.5pt; }
  .new-page { break-before: page; }
  .wide { overflow: visible; }
  figure { margin: 1rem 0 1.2rem; }
  figure svg { max-height: 68mm; }
  .abreast figure { margin: .4rem 0 .6rem; }
  .abreast figcaption { font-size: .85rem; line-height: 1.35; margin-top: .3rem; }
  .abreast figure svg { max-height: none; }
  h2 + p, h3 + p, p:has(+ figure), p:has(+ .abreast), p:has(+ .wide) { break-after: avoid; }
}
"""
