# SPDX-License-Identifier: GPL-2.0-or-later
# A set named like a script, in the file's title, in a rule file and in a file's name, is letters.
command -v gnuplot >/dev/null || skip 'gnuplot is missing'
{
    echo '# Title: <script>alert(1)</script> & "co"'
    sweep start=25M stop=700M step=40k rbw=100k 146.94M=-3.01 293.88M=-48
} >"f0'<b onload=x>\".csv"
"$SPURITY" rules --template | sed 's/^title: .*/title: "<img src=x onerror=alert(1)>"/' >own.yaml
"$SPURITY" check "f0'<b onload=x>\".csv" --pad 40dB --rules us-amateur --rules ./own.yaml --report page.html >text || true
grep -cE '<script|<img|<b |onload=x>' page.html || true
grep -o '&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;co&quot;' page.html | head -n 1
grep -o 'f0&#39;&lt;b onload=x&gt;&quot;.csv' page.html | head -n 1
grep -o '&lt;img src=x onerror=alert(1)&gt;' page.html | head -n 1
