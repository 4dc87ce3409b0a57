#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# browser.sh PROGRAM SOURCE: reports in a browser (Chromium without a window).  As they are: no script of a file's name
# runs.  In copies with a ruler (a script of ours): at 400 and 1600 px nothing stands out to the side or over its
# neighbour; printed on A4 and on Letter, every row stands whole on one page.
set -eu
program=$1
source=$2
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT
PATH="$source/tests/commands/tools:$PATH"
cd "$place"

browse()
{
    HOME=$place timeout 120 chromium --headless --no-sandbox --disable-gpu --hide-scrollbars \
        --user-data-dir="$place/profile" --disable-dev-shm-usage "$@" 2>>browser.txt
}

sh "$source/tests/commands/tools/sweep" start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-48 >f0.csv
{
    echo '# Title: <script>document.title="ran"</script><img src=x onerror="document.title=&quot;ran&quot;">'
    cat f0.csv
} >hostile.csv
# Statuses 1 and 3 are verdicts, not failures.
page()
{
    name=$1
    shift
    "$program" "$@" --report "$name.html" >/dev/null || [ $? -ne 2 ] && [ -s "$name.html" ]
}
traces=$source/traces
page fail check "$traces/hand-held-2-wide.csv" "$traces/hand-held-2-near.csv" --pad 40dB,0.5dB,6G,50W --modulation none \
    --rules us-amateur --rules itu-a
page pass check "$traces/hand-held-1-wide.csv" "$traces/hand-held-1-near.csv" --pad 40dB,0.5dB,6G,50W --modulation none \
    --rules us-amateur
page open check "$traces/hand-held-1-coarse.csv" --pad 40dB --rules us-amateur
page bursts check "$traces/personal-radio-bursts.sigmf-meta,full-scale=-15dBm" --rbw 1k --pad 60dB --rules us-frs
page measured measure "$traces/hand-held-2-wide.csv" --pad 40dB
page hostile check hostile.csv --pad 40dB --rules us-amateur

# Where an element's box ends; the picture may be moved within its own frame.
cat >ruler.js <<'RULER'
const out = [], wide = innerWidth;
if (document.documentElement.scrollWidth > wide) out.push('the page is ' + document.documentElement.scrollWidth + ' px wide');
for (const e of document.querySelectorAll('body *')) {
  if (e.closest('.sheet')) continue;
  const box = e.getBoundingClientRect();
  if (box.width && getComputedStyle(e).position !== 'absolute' && !e.closest('thead') && box.right > wide + 0.5)
    out.push(e.tagName + ' ends at ' + box.right + ': ' + e.textContent.slice(0, 40));
}
for (const e of document.querySelectorAll('td, th, dd, dt'))
  if (e.clientWidth && !e.closest('thead') && e.scrollWidth > e.clientWidth + 1)
    out.push(e.tagName + ' is too narrow by ' + (e.scrollWidth - e.clientWidth) + ' px: ' + e.textContent.slice(0, 40));
parent.postMessage('RULER ' + wide + ' ' + (out.length ? out.slice(0, 5).join('; ') : 'fits') + ' END', '*');
RULER

# Every row gets its number into each of its cells, at the start and at the end.
cat >rows.js <<'ROWS'
document.querySelectorAll('tbody tr').forEach((row, i) => {
  for (const cell of row.cells) {
    cell.prepend('ROW' + i + 'X ');
    cell.append(' ROW' + i + 'X');
  }
});
ROWS

# copy PAGE SCRIPT STYLE: without the policy that keeps scripts out, with one of ours.
copy()
{
    {
        sed '/Content-Security-Policy/d; /<\/body>/,$d' "$1.html"
        printf '<style>%s</style><script>\n' "$3"
        cat "$2"
        printf '</script></body></html>\n'
    } >"$1-copy.html"
}

wrong=0
bad()
{
    echo "$*"
    wrong=$((wrong + 1))
}

# measure NAME WIDTH STYLE: what the ruler says.  The page stands in a frame: a window is no narrower than 500 px.
measure()
{
    copy "$1" ruler.js "$3"
    printf '<!DOCTYPE html><script>onmessage = told => document.body.append(told.data)</script><body>
<iframe src="%s-copy.html" style="width:%spx;height:3000px;border:0"></iframe>' "$1" "$2" >frame.html
    browse --window-size=2000,3000 --virtual-time-budget=5000 --dump-dom "file://$place/frame.html" >dom.html ||
        bad "$1: the browser failed"
    grep -o 'RULER [0-9]* [^<]* END' dom.html | tail -n 1
}

# pages PDF: each row on one page, all its marks; prints how many rows and pages.
pages()
{
    pdftotext -layout "$1" - | python3 -c '
import re, sys
pages = sys.stdin.read().split("\f")
seen = {}
for number, text in enumerate(pages):
    for row in re.findall(r"ROW(\d+)X", text):
        seen.setdefault(int(row), set()).add(number)
cut = sorted(row for row, on in seen.items() if len(on) > 1)
if cut or not seen:
    sys.exit(f"rows cut by a page: {cut}" if cut else "no rows found")
print(f"{len(seen)} rows on {len(pages) - 1} pages, none cut")'
}

for name in fail pass open bursts measured hostile; do
    title=$(sed -n 's/^.*<title>\(.*\)<\/title>.*$/\1/p' "$name.html" | sed "s/&#39;/'/g; s/&quot;/\"/g")
    browse --dump-dom "file://$place/$name.html" >dom.html || bad "$name: the browser failed"
    grep -qF "<title>$title</title>" dom.html || bad "$name: the title is not what was written"
    if grep -qE '<script|<img' dom.html; then
        bad "$name: a text has become an element"
    fi
    for width in 400 1600; do
        told=$(measure "$name" $width '')
        case "$told" in
        "RULER $width fits END") ;;
        *) bad "$name at $width px: ${told:-no ruler}" ;;
        esac
    done
    for paper in A4 Letter; do
        copy "$name" rows.js "@page{size:$paper}"
        browse --no-pdf-header-footer --print-to-pdf="$place/page.pdf" "file://$place/$name-copy.html" || bad "$name: no print"
        case "$(pdfinfo page.pdf | grep '^Page size')" in
        *A4*) [ $paper = A4 ] || bad "$name: not $paper" ;;
        *letter*) [ $paper = Letter ] || bad "$name: not $paper" ;;
        *) bad "$name: another paper" ;;
        esac
        told=$(pages page.pdf 2>&1) || bad "$name on $paper: $told"
        echo "$name on $paper: $told"
    done
done

# The ruler is awake: a word too long for 400 px is seen, and so is a row that is cut.
case "$(measure fail 400 'h1{white-space:nowrap}')" in
"RULER 400 the page is"*) ;;
*) bad "the ruler sleeps" ;;
esac
copy fail rows.js '@page{size:A4}tr,table{break-inside:auto !important}tr{height:7cm}'
browse --no-pdf-header-footer --print-to-pdf="$place/page.pdf" "file://$place/fail-copy.html"
if pages page.pdf >/dev/null 2>&1; then
    bad "cut rows are not seen"
fi
[ $wrong -eq 0 ] || {
    tail -n 5 browser.txt
    exit 1
}
