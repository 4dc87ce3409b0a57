# SPDX-License-Identifier: GPL-2.0-or-later
# The picture of limits: how it looks.  What stands where was worked out before (lib/output): `kind` and the data blocks
# $title, $edge ... are set ahead of this text, in pixels of a sheet of 1200 by 675 with its origin at the lower left.
#
# White ground; what is forbidden as a pale region with a crisp edge, a second and third case as dashes and dots; where no
# clause sets a figure, hatching.  Every colour has a twin in shape or words, so that grey print and every eye read the same.

ink      = '#1d2a33'
soft_ink = '#5b6770'
faint    = '#b4bcc2'
pale     = '#f8e6dd'
edge     = '#b2431f'
deep     = '#7d2a10'
hatch    = '#c3c9cd'

# Sizes are pixels of the sheet; png counts points of 1/72 inch on a sheet of 96 pixels an inch, and so does pdf on one of
# 100 to the inch.  The svg terminal knows no bold but writes the face as it stands into an attribute.
s    = kind eq 'svg' ? 1.0 : kind eq 'png' ? 0.75 : 0.54
face = kind eq 'svg' ? 'sans-serif' : 'Sans'
bold = kind eq 'svg' ? 'sans-serif" font-weight="bold' : 'Sans:Bold'
F(size) = sprintf('%s,%g', face, size * s)
B(size) = sprintf('%s,%g', bold, size * s)

set encoding utf8
if (kind eq 'svg') {
    set terminal svg size 1200,675 dynamic noenhanced rounded background '#ffffff' font F(11)
}
if (kind eq 'png') {
    set terminal pngcairo size 1200,675 noenhanced rounded background '#ffffff' font F(11) fontscale 1
}
if (kind eq 'pdf') {
    set terminal pdfcairo size 12in,6.75in noenhanced rounded background '#ffffff' font F(11) fontscale 1 linewidth 1.4
}

set datafile separator "\t"
unset border
unset tics
unset key
set lmargin at screen 0
set rmargin at screen 1
set bmargin at screen 0
set tmargin at screen 1
set xrange [0:1200]
set yrange [0:675]

plot \
    $forbidden using 1:2:3 with filledcurves fc rgb pale fs solid noborder title 'forbidden', \
    $hatch     using 1:2 with lines lc rgb hatch lw 0.7 title 'no figure', \
    $axis      using 1:2 with lines lc rgb faint lw 1 title '', \
    $edge      using 1:2 with lines lc rgb edge lw 1.7 title 'limit', \
    $reach     using 1:2 with lines lc rgb deep lw 1.7 dt (18,10) title 'limit, second case', \
    $bound     using 1:2 with lines lc rgb ink lw 1.5 dt (4,8) title 'limit, further cases', \
    $stem      using 1:2 with lines lc rgb soft_ink lw 0.8 title 'harmonics', \
    $seen      using 1:2 with lines lc rgb ink lw 1.6 title 'carrier', \
    $title         using 1:2:3 with labels left font B(17) tc rgb ink title '', \
    $subtitle      using 1:2:3 with labels left font F(11.5) tc rgb soft_ink title '', \
    $caption       using 1:2:3 with labels left font F(10) tc rgb soft_ink title '', \
    $tic_x         using 1:2:3 with labels center font F(10.5) tc rgb soft_ink title '', \
    $tic_y         using 1:2:3 with labels right font F(10.5) tc rgb soft_ink title '', \
    $unit          using 1:2:3 with labels left font F(10.5) tc rgb soft_ink title '', \
    $gap           using 1:2:3 with labels center font F(10) tc rgb soft_ink title '', \
    $carrier_right using 1:2:3 with labels left font B(11) tc rgb ink title '', \
    $carrier_left  using 1:2:3 with labels right font B(11) tc rgb ink title '', \
    $label_right   using 1:2:3 with labels left font F(10.5) tc rgb ink title '', \
    $label_under   using 1:2:3 with labels center font F(10.5) tc rgb deep title '', \
    $over_under    using 1:2:3 with labels center font B(11) tc rgb deep title ''
