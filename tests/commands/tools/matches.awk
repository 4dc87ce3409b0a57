# SPDX-License-Identifier: GPL-2.0-or-later
# awk -f matches.awk EXPECTATION OUTPUT: 0 when the output is as expected, else 1 and the pattern that was missed.
function squeeze(text) {
    gsub(/[ \t]+/, " ", text)
    sub(/^ /, "", text)
    sub(/ $/, "", text)
    return text
}
FNR == NR && FILENAME == ARGV[1] { want[++wanted] = squeeze($0); next }
{ have[++lines] = squeeze($0) }
END {
    if (wanted == 1 && want[1] == "*") exit 0
    if (!wanted && lines) { print "expected nothing"; exit 1 }
    at = 1
    for (i = 1; i <= wanted; i++) {
        text = want[i]
        found = 0
        if (substr(text, 1, 2) == "! ") {
            text = substr(text, 3)
            for (k = 1; k <= lines; k++)
                if (index(have[k], text)) { print "unwanted: " text; exit 1 }
            continue
        }
        if (text == "") continue
        whole = substr(text, 1, 2) == "= "
        if (whole) text = substr(text, 3)
        for (k = at; k <= lines && !found; k++)
            if (whole ? have[k] == text : index(have[k], text)) { found = 1; at = k }
        if (!found) { print "missed: " want[i]; exit 1 }
    }
}
