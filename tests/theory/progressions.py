# ruff: noqa: E501
"""Progressions of ours and the key a player would say; common practice, no source.

Where two keys would both be said, they stand with a stroke between them.
"""

PLAIN = {
    # Major, from and to the tonic.
    "C Am F G": "C", "G D Em C": "G", "D A Bm G": "D", "A E F#m D": "A", "E B C#m A": "E",
    "F C Dm Bb": "F", "Bb F Gm Eb": "Bb", "Eb Bb Cm Ab": "Eb", "Ab Eb Fm Db": "Ab",
    "Db Ab Bbm Gb": "Db", "C F G C": "C", "G C D G": "G", "D G A7 D": "D", "A D E7 A": "A",
    "E A B7 E": "E", "F Bb C7 F": "F", "C G/B Am F": "C", "Dm7 G7 Cmaj7": "C", "Am7 D7 Gmaj7": "G",
    "Gm7 C7 Fmaj7": "F", "Cm7 F7 Bbmaj7": "Bb", "Fm7 Bb7 Ebmaj7": "Eb", "Em7 A7 Dmaj7": "D",
    "Cmaj7 Am7 Dm7 G7": "C", "Gmaj7 Em7 Am7 D7": "G", "Fmaj7 Dm7 Gm7 C7": "F",
    "C Em F G": "C", "G Bm C D": "G", "D F#m G A": "D", "C Dm Em F G C": "C", "A F#m Bm E": "A",
    "E C#m F#m B": "E", "Bb Gm Cm F": "Bb", "Eb Cm Fm Bb7": "Eb", "B G#m E F#": "B",
    "F# D#m B C#": "F#", "Gb Ebm Cb Db": "Gb", "C F C G": "C", "G G7 C Cm G D G": "G",
    "C E7 Am F C G C": "C", "C A7 D7 G7 C": "C", "F A7 Dm Bb F C F": "F", "D Gm D A D": "D",
    # Minor.
    "Am F C G Am": "Am", "Am Dm E7 Am": "Am", "Em Am B7 Em": "Em", "Dm Gm A7 Dm": "Dm",
    "Bm Em F#7 Bm": "Bm", "Cm Fm G7 Cm": "Cm", "Gm Cm D7 Gm": "Gm", "F#m Bm C#7 F#m": "F#m",
    "C#m A E B C#m": "C#m", "Fm Bbm C7 Fm": "Fm", "Am G F E7": "Am", "Am G F E": "Am",
    "Em D C B7": "Em", "Dm C Bb A7": "Dm", "Bm7b5 E7 Am": "Am", "Em7b5 A7 Dm": "Dm",
    "Am7b5 D7 Gm": "Gm", "Am Am/G F E7 Am": "Am", "Em G D A Em": "Em|E dorian", "Am C G D Am": "Am|A dorian",
    "Am E7 Am Dm Am E7 Am": "Am", "Cm Ab Eb Bb Cm": "Cm", "Dm Bb F C Dm": "Dm", "Em C G D Em": "Em",
    # Blues.
    "A7 D7 A7 E7 D7 A7": "A", "E7 A7 E7 B7 A7 E7": "E", "G7 C7 G7 D7 C7 G7": "G",
    "C7 F7 C7 C7 F7 F7 C7 C7 G7 F7 C7 G7": "C",
}  # fmt: skip

HARDER = {
    # Turnarounds that begin on the tonic.
    "Bb G7 Cm7 F7": "Bb", "C A7 Dm7 G7": "C", "G E7 Am7 D7": "G", "F D7 Gm7 C7": "F", "Eb C7 Fm7 Bb7": "Eb",
    "Cmaj7 C#dim7 Dm7 G7": "C", "C A7 D7 G7": "C", "Bbmaj7 Bdim7 Cm7 F7": "Bb", "Gmaj7 E7 A7 D7": "G",
    "C Eb7 Dm7 Db7": "C", "Cmaj7 Ebmaj7 Abmaj7 Dbmaj7": "C", "Em7 A7 Dm7 G7 C": "C",
    # The minor subdominant, and borrowed chords.
    "C Fm C": "C", "G Cm G": "G", "D Gm D": "D", "C F Fm C": "C", "A D Dm A": "A", "C Ab Bb C": "C",
    "E G A E": "E", "E D A E": "E|E mixolydian", "C Bb F C": "C|C mixolydian", "A G D A": "A|A mixolydian",
    "G Bb C G": "G", "D C G D": "D|D mixolydian", "C Ab F G": "C", "F Bbm F C7 F": "F",
    # Vamps of the church modes.
    "Em F Em F": "E phrygian|Em", "Em F G F Em": "E phrygian|Em", "Bm C Bm C": "B phrygian|Bm",
    "F#m G F#m G F#m": "F# phrygian|F#m", "Am7 D7 Am7 D7": "A dorian|Am", "Dm7 G7 Dm7 G7": "D dorian|Dm",
    "Em7 A7 Em7 A7": "E dorian|Em", "Dm G Dm G Dm": "D dorian|Dm", "Gm7 C7 Gm7 C7 Gm7": "G dorian|Gm",
    "Am Bm Am Bm": "A dorian|Am", "D C D C": "D mixolydian|D", "G F G F G": "G mixolydian|G",
    "D Am C G D": "D mixolydian|D", "A G A G": "A mixolydian|A",
    # Andalusian, line clichés, ends that are open, starts that are not the tonic.
    "Dm C Bb A": "Dm", "F G Am F G C": "C", "F G Em Am Dm G C": "C", "F C G C": "C",
    "Am Am(maj7) Am7 Am6": "Am", "Em Em(maj7) Em7 Em6 C B7": "Em", "Dm Dm/C Bb A7": "Dm",
    "Bb C Dm": "Dm", "F G Am": "Am", "C D Em": "Em", "Ebmaj7 Dm7 Cm7 F7 Bb": "Bb",
    "Cm7 F7 Bbmaj7 Ebmaj7 Am7b5 D7 Gm": "Gm", "Am7 D7 Gmaj7 Cmaj7 F#m7b5 B7 Em": "Em",
    "Fm7 Bbm7 Eb7 Abmaj7 Dbmaj7 G7 Cmaj7": "Ab|C|Fm", "D7 G7 C7 F7 Bb": "Bb",
}  # fmt: skip

MORE = {
    "Cmaj7 Dm7 Em7 Fmaj7": "C", "Am7 Dm7 G7 Cmaj7 Fmaj7 Bm7b5 E7 Am7": "Am",
    "Am D Am D": "A dorian", "Bm A G F#": "Bm", "Bm A G F#7 Bm": "Bm", "Gm Bb C Gm": "Gm|G dorian",
    "Em G A C": "Em", "A C D A": "A", "F Eb Bb F": "F|F mixolydian", "Dm7 Gm7 C7 Fmaj7": "F",
    "Fmaj7 Em7 Dm7 Cmaj7": "C", "Dbmaj7 Cm7 Bbm7 Abmaj7": "Ab", "Bbm7 Eb7 Ab": "Ab",
    "C#m F#m G#7 C#m": "C#m", "E A E B7": "E", "B7 E": "E", "C Csus4 C": "C", "Gsus4 G C": "C",
    "Am Fmaj7 C G/B": "Am", "C C/B Am F": "C", "Em7 A7 D": "D", "D Dmaj7 D7 G Gm D": "D",
    "F#m7b5 B7 Em": "Em", "Cm7b5 F7 Bbm": "Bbm", "Abm Db7 Gb": "Gb", "Am E F C Dm Am E": "Am",
    "G F C G": "G|G mixolydian", "C Bb Ab G": "C|Cm", "Cm Bb Ab G": "Cm",
    "C E7 Am7 C7 F Fm C": "C", "Bb Bb7 Eb Ebm Bb": "Bb", "Am7 Abdim7 Gm7 C7 F": "F",
    "Cmaj7 B7 Em7 A7 Dm7 G7": "C", "Dm Db C": "C|Dm", "Em F G F": "E phrygian|Em",
    "Cm7 F7 Cm7 F7": "C dorian|Cm", "Fm Gb Fm Gb": "F phrygian|Fm", "A E D E": "A|E", "G D C": "G",
    "D A G": "D", "A5 G5 D5 A5": "A|A mixolydian|Am|D", "E5 D5 A5 E5": "E|Em|E mixolydian",
    "G G/F# Em C D": "G", "C Gm7 C7 F Bb F C": "C|F|C mixolydian", "Bm G D A Bm": "Bm",
    "G A Bm": "Bm", "A B C#m": "C#m", "Ab Bb C": "C", "Ab Bb Cm": "Cm", "F G C Am F G C": "C",
    "D Bm G A D": "D", "Gm Eb Bb F Gm": "Gm", "Ebm Cb Gb Db": "Ebm", "Abmaj7 Gm7 Fm7 Ebmaj7": "Eb",
    "G7#9 Cm": "Cm", "E7 E7 A7 E7 B7 A7 E7 B7": "E", "Am7 D7 Gm7 C7 F": "F",
    "C Dm7 Ebdim7 C/E F Fm C G7 C": "C", "Dm7 Db7 Cmaj7": "C", "Gm7 Gb7 Fmaj7": "F",
    "A Amaj7 A7 D Dm A": "A", "Em A Em A": "E dorian|Em", "Am Em F G Am": "Am", "C G F C": "C",
}  # fmt: skip
