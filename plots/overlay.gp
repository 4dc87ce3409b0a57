# SPDX-License-Identifier: GPL-2.0-or-later
# The overlay picture: how it looks.  What stands where was worked out before (lib/output): `kind` and the data blocks
# $title, $sweep ... are set ahead of this text, in pixels of a sheet of 1200 by 675 with its origin at the lower left.
#
# White ground; the sweep as one dark line (highest reading, with a softer band down to the lowest); what is forbidden as
# a pale region with a crisp edge; what was not shown hatched.  Every colour has a twin in shape or words, so that grey
# print and every eye read the same.

ink      = '#1d2a33'
soft_ink = '#5b6770'
faint    = '#b4bcc2'
band     = '#a9b8c2'
pale     = '#f8e6dd'
edge     = '#b2431f'
over     = '#9c2a10'
hatch    = '#aab2b8'

s = kind eq 'pdf' ? 0.72 : 1.0
face = kind eq 'svg' ? 'sans-serif' : 'Sans'
F(size) = sprintf('%s,%g', face, size * s)
B(size) = sprintf('%s:Bold,%g', face, size * s)

set encoding utf8
if (kind eq 'svg') {
    set terminal svg size 1200,675 dynamic noenhanced rounded background '#ffffff' font F(11)
}
if (kind eq 'png') {
    set terminal pngcairo size 1200,675 noenhanced rounded background '#ffffff' font F(8.25) fontscale 1
    s = 0.75
}
if (kind eq 'pdf') {
    set terminal pdfcairo size 12in,6.75in noenhanced rounded background '#ffffff' font F(11) fontscale 1 linewidth 1
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

verdict_ink = outcome >= 4 ? over : ink

plot \
    $forbidden using 1:2:3 with filledcurves fc rgb pale fs solid noborder, \
    $hatch     with lines lc rgb hatch lw 0.7, \
    $edge      with lines lc rgb edge lw 1.5, \
    $axis      with lines lc rgb faint lw 1, \
    $reach     with lines lc rgb edge lw 0.8 dt (2,3), \
    $sweep     using 1:2:3 with filledcurves fc rgb band fs solid noborder, \
    $sweep     using 1:3 with lines lc rgb ink lw 1.1, \
    $stem      with lines lc rgb soft_ink lw 0.8, \
    $seen      with points pt 7 ps 0.55 lc rgb ink, \
    $bound     with points pt 11 ps 0.6 lc rgb '#ffffff', \
    $bound     with points pt 10 ps 0.6 lc rgb ink, \
    $excess    with points pt 7 ps 0.75 lc rgb over, \
    $title         using 1:2:3 with labels left font B(17) tc rgb verdict_ink, \
    $subtitle      using 1:2:3 with labels left font F(11.5) tc rgb soft_ink, \
    $caption       using 1:2:3 with labels left font F(10) tc rgb soft_ink, \
    $tic_x         using 1:2:3 with labels center font F(10.5) tc rgb soft_ink, \
    $tic_y         using 1:2:3 with labels right font F(10.5) tc rgb soft_ink, \
    $unit          using 1:2:3 with labels left font F(10.5) tc rgb soft_ink, \
    $gap           using 1:2:3 with labels center font F(10) tc rgb soft_ink, \
    $ban_right     using 1:2:3 with labels left font F(10.5) tc rgb edge, \
    $ban_left      using 1:2:3 with labels right font F(10.5) tc rgb edge, \
    $carrier_right using 1:2:3 with labels left font B(11) tc rgb ink, \
    $carrier_left  using 1:2:3 with labels right font B(11) tc rgb ink, \
    $name_right    using 1:2:3 with labels left font B(10.5) tc rgb ink, \
    $name_left     using 1:2:3 with labels right font B(10.5) tc rgb ink, \
    $margin_right  using 1:2:3 with labels left font F(10.5) tc rgb soft_ink, \
    $margin_left   using 1:2:3 with labels right font F(10.5) tc rgb soft_ink, \
    $over_right    using 1:2:3 with labels left font B(10.5) tc rgb over, \
    $over_left     using 1:2:3 with labels right font B(10.5) tc rgb over
