# SPDX-License-Identifier: GPL-2.0-or-later
# See tools/sweep.
function hertz(text,   scale) {
    scale = 1
    if (text ~ /k$/) scale = 1e3
    if (text ~ /M$/) scale = 1e6
    if (text ~ /G$/) scale = 1e9
    return (text + 0) * scale
}
# Minimal standard generator (Park and Miller, Communications of the ACM 31, 1988): exact in double precision.
function random() {
    seed = (seed * 16807) % 2147483647
    return seed / 2147483647
}
function normal() {
    return sqrt(-2 * log(random())) * cos(6.283185307179586 * random())
}
function number(value, digits,   text) {
    text = sprintf("%." digits "f", value)
    if (mark != ".")
        sub(/\./, mark, text)
    return text
}
BEGIN {
    seed = 1977; averages = 100; floor = -95; delimiter = ","; mark = "."; head = "yes"; unit = "Hz"; title = ""
    per_unit = 1; digits = 0
    for (i = 1; i < ARGC; i++) {
        at = index(ARGV[i], "=")
        name = substr(ARGV[i], 1, at - 1)
        value = substr(ARGV[i], at + 1)
        if (name == "start") start = hertz(value)
        else if (name == "stop") stop = hertz(value)
        else if (name == "step") step = hertz(value)
        else if (name == "rbw") rbw = hertz(value)
        else if (name == "floor") floor = value + 0
        else if (name == "averages") averages = value + 0
        else if (name == "seed") seed = value + 0
        else if (name == "delimiter") delimiter = value
        else if (name == "mark") mark = value
        else if (name == "head") head = value
        else if (name == "unit") unit = value
        else if (name == "title") title = value
        else { lines++; line_hz[lines] = hertz(name); line_db[lines] = value + 0 }
    }
    if (unit == "MHz") { per_unit = 1e6; digits = 6 }
    if (unit == "kHz") { per_unit = 1e3; digits = 3 }
    if (head == "yes") {
        if (title != "") printf "Title%s%s\n", delimiter, title
        printf "RBW%s%s%sHz\n", delimiter, number(rbw, 0), delimiter
        printf "Detector%sRMS\n", delimiter
        printf "Averages%s%d\n", delimiter, averages
        printf "Frequency (%s)%sLevel (dBm)\n", unit, delimiter
    }
    count = int((stop - start) / step + 1.5)
    noise = 10 ^ (floor / 10)
    for (k = 0; k < count; k++) {
        hz = start + k * step
        power = noise * (1 + normal() / sqrt(averages))
        if (power < noise / 100) power = noise / 100
        for (j = 1; j <= lines; j++) {
            off = (hz - line_hz[j]) / rbw
            # Gaussian filter: 3.01 dB down half a bandwidth off
            if (off * off < 100) power += 10 ^ ((line_db[j] - 12.0412 * off * off) / 10)
        }
        print number(hz / per_unit, digits) delimiter number(10 * log(power) / log(10), 3)
    }
}
