"""The one bibliography. Everything that states a fact of others names a key of this file.

Three kinds of entry are told apart, because a reader must be able to: something *published*, something that
follows from a *definition* or plain geometry, and something that is *common practice* or our own *judgement* with
no source to check it against.
"""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["published", "definition", "common practice", "judgement"]


@dataclass(frozen=True)
class Source:
    """One entry: `key` is what code and documents write, `text` is what a reader needs to find it."""

    key: str
    kind: Kind
    text: str


_ENTRIES = [
    Source("geometry", "definition", "Plane geometry of the slider-crank and the cylinder; nothing empirical."),
    Source("definition", "definition", "Definition of the quantity; arithmetic on measured values."),
    Source("measured", "definition", "Measured by the builder and taken from the record as it stands."),
    Source("common-practice", "common practice", "Common practice of the trade; no source."),
    Source("judgement", "judgement", "Our own judgement; no source. Change it where you know better."),
    Source(
        "jcgm-100",
        "published",
        "JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in measurement "
        "(GUM), section 5 (propagation), 6 (coverage factor) and 7.2.6 (digits; quoted from memory).",
    ),
    Source(
        "jcgm-101",
        "published",
        "JCGM 101:2008, Supplement 1 to the GUM: Propagation of distributions using a Monte Carlo method.",
    ),
    Source(
        "rabiner-1989",
        "published",
        "L. R. Rabiner, A tutorial on hidden Markov models and selected applications in speech recognition, "
        "Proceedings of the IEEE 77 (1989) 257: the forward-backward algorithm. From memory; checked by enumeration.",
    ),
    Source(
        "heywood-1988",
        "published",
        "J. B. Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill 1988. The squish relation is quoted "
        "from memory and re-derived from conservation of mass; see docs/concepts.",
    ),
    Source(
        "jennings-1973",
        "published",
        "G. Jennings, Two-Stroke Tuner's Handbook, H.P. Books 1973. Figures quoted from memory or from secondary "
        "quotations; where a figure is used, the place says which.",
    ),
    Source(
        "iso-2533",
        "published",
        "ISO 2533:1975, Standard atmosphere: 1.225 kg/m³ at sea level and 15 °C; standard gravity 9.80665 m/s². From "
        "memory.",
    ),
    Source(
        "iso-80000",
        "published",
        "ISO 80000-3, Quantities and units: space and time; the international inch is 25.4 mm exactly.",
    ),
    Source("iso-216", "published", "ISO 216:2007, Writing paper: A4 is 210 x 297 mm, A3 is 297 x 420 mm."),
    Source(
        "ansi-y14.1",
        "published",
        "ANSI/ASME Y14.1, Decimal inch drawing sheet size and format: size A (letter) is 8.5 x 11 in. From memory.",
    ),
    Source(
        "iso-32000",
        "published",
        "ISO 32000-1:2008, Portable document format: the unit of a page is 1/72 in. From memory.",
    ),
    Source(
        "toro-2009",
        "published",
        "E. F. Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd edition, Springer 2009. Equation "
        "and section numbers quoted from memory; the results are checked against independent exact solutions.",
    ),
    Source(
        "levine-schwinger-1948",
        "published",
        "H. Levine, J. Schwinger, On the radiation of sound from an unflanged circular pipe, Physical Review 73 (1948) "
        "383: end correction 0.6133 radii in the limit of low frequency.",
    ),
    Source(
        "wiebe-1962",
        "published",
        "I. I. Wiebe, Progress in engine cycle analysis: combustion rate and cycle processes, 1962; as stated in "
        "heywood-1988, equation 9.27. From memory.",
    ),
    Source(
        "annand-1963",
        "published",
        "W. J. D. Annand, Heat transfer in the cylinders of reciprocating internal combustion engines, Proceedings of "
        "the Institution of Mechanical Engineers 177 (1963) 973. From memory.",
    ),
    Source(
        "woschni-1967",
        "published",
        "G. Woschni, SAE paper 670931 (1967), as stated in heywood-1988, section 12.4.3. From memory; fitted on "
        "four-stroke engines.",
    ),
    Source(
        "sutherland-air",
        "published",
        "Sutherland's formula for the viscosity of air with the constants of the US Standard Atmosphere 1976. "
        "From memory.",
    ),
    Source(
        "hopkinson-1914",
        "published",
        "B. Hopkinson, The charging of two-cycle internal combustion engines, 1914: perfect displacement and perfect "
        "mixing; as stated in heywood-1988, section 6.6.3. From memory.",
    ),
    Source(
        "douaud-eyzat-1978",
        "published",
        "A. M. Douaud, P. Eyzat, Four-octane-number method for predicting the anti-knock behavior of fuels and "
        "engines, SAE paper 780080 (1978), as stated in heywood-1988, equation 9.61. From memory.",
    ),
    Source(
        "livengood-wu-1955",
        "published",
        "J. C. Livengood, P. C. Wu, Correlation of autoignition phenomena in internal combustion engines and rapid "
        "compression machines, Fifth Symposium on Combustion (1955) 347. From memory.",
    ),
    Source(
        "blair-1996",
        "published",
        "G. P. Blair, Design and Simulation of Two-Stroke Engines, SAE 1996. Friction relation and form of the "
        "scavenging curves quoted from memory.",
    ),
    Source(
        "weisbach-1855",
        "published",
        "J. Weisbach, Die Experimental-Hydraulik, Freiberg 1855: loss of a smooth bend, as it stands in handbooks of "
        "hydraulics. From memory.",
    ),
    Source(
        "kolda-2003",
        "published",
        "T. G. Kolda, R. M. Lewis, V. Torczon, Optimization by direct search: new perspectives on some classical and "
        "modern methods, SIAM Review 45 (2003) 385. From memory.",
    ),
    Source(
        "gri-mech-3.0",
        "published",
        "G. P. Smith et al., GRI-Mech 3.0 (1999), thermodynamic data; see data/nasa7.toml.",
    ),
    Source(
        "cipm-2007",
        "published",
        "A. Picard, R. S. Davis, M. Gläser, K. Fujii, Revised formula for the density of moist air (CIPM-2007), "
        "Metrologia 45 (2008) 149; constants read in a code excerpt that cites it, and checked against CoolProp.",
    ),
    Source(
        "ussa-1976",
        "published",
        "U.S. Standard Atmosphere 1976, NOAA/NASA/USAF: the troposphere. Constants from memory, some looked up.",
    ),
    Source(
        "iso-1585",
        "published",
        "ISO 1585 and UN ECE R85, the same factor as in Regulation (EU) 134/2014, Annex II, Appendix 2.2: power of "
        "positive-ignition engines brought to 298 K and 99 kPa of dry air. Read in a quotation, not in the standard; "
        "the limits 0.93 to 1.07 from memory.",
    ),
    Source(
        "sae-j1349",
        "published",
        "SAE J1349 (June 1990), engine power test code: 25 °C and 990 mbar of dry air, 85 % mechanical efficiency. "
        "Read in a quotation, not in the standard; later issues may differ.",
    ),
    Source("din-70020", "published", "DIN 70020: engine power at 20 °C and 1013 mbar. Read in quotations."),
    Source(
        "newton",
        "definition",
        "Newton's second law along the road: force is mass times acceleration plus everything that holds back.",
    ),
    Source(
        "welch-1947", "published", "B. L. Welch, Biometrika 34 (1947) 28: two means with unequal scatter. From memory."
    ),
    Source(
        "satterthwaite-1946",
        "published",
        "F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110: degrees of freedom of a sum of variances. From memory.",
    ),
    Source(
        "rao-1971",
        "published",
        "C. R. Rao, Journal of Multivariate Analysis 1 (1971) 257: variance components (MINQUE). From memory.",
    ),
    Source(
        "beran-1987",
        "published",
        "R. Beran, Biometrika 74 (1987) 457: the level of an interval set right by simulation. From memory.",
    ),
    Source(
        "tukey-1958",
        "published",
        "J. W. Tukey, Bias and confidence in not-quite large samples (abstract), Annals of Mathematical Statistics 29 "
        "(1958) 614: an interval from leaving out one after the other. From memory.",
    ),
    Source("student-1908", "published", "Student, The probable error of a mean, Biometrika 6 (1908) 1. From memory."),
    Source(
        "clopper-pearson-1934",
        "published",
        "C. J. Clopper, E. S. Pearson, The use of confidence or fiducial limits illustrated in the case of the "
        "binomial, Biometrika 26 (1934) 404: the exact interval of a share. From memory.",
    ),
    Source(
        "iso-13528",
        "published",
        "ISO 13528, Statistical methods for use in proficiency testing by interlaboratory comparison: the E_n score, a "
        "difference over the root of the sum of squares of both expanded uncertainties, agreed where at most 1. From "
        "memory.",
    ),
    Source("fisher-1935", "published", "R. A. Fisher, The Design of Experiments, 1935: permutation test. From memory."),
    Source("holm-1979", "published", "S. Holm, Scandinavian Journal of Statistics 6 (1979) 65. From memory."),
    Source(
        "cohen-1988",
        "published",
        "J. Cohen, Statistical Power Analysis for the Behavioral Sciences, 2nd edition 1988. From memory.",
    ),
    Source(
        "iglewicz-hoaglin-1993",
        "published",
        "B. Iglewicz, D. Hoaglin, How to Detect and Handle Outliers, 1993, as in the NIST/SEMATECH e-Handbook, "
        "section 1.3.5.17. From memory.",
    ),
    Source(
        "nist-strd",
        "published",
        "NIST Statistical Reference Datasets: certified means, deviations, analyses of variance and straight lines.",
    ),
    Source(
        "anderson-1999",
        "published",
        "E. Anderson et al., LAPACK Users' Guide, 3rd edition 1999, as called by numpy.",
    ),
    Source(
        "fan-gijbels-1996",
        "published",
        "J. Fan, I. Gijbels, Local Polynomial Modelling and Its Applications, 1996: weighted local fits and the "
        "scatter of their derivatives. From memory.",
    ),
    Source(
        "karney-2013",
        "published",
        "C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013) 43, as in geographiclib.",
    ),
    Source(
        "yard-and-pound-1959",
        "published",
        "Refinement of values for the yard and the pound, US Federal Register, 1 July 1959: the yard is 0.9144 m and "
        "the avoirdupois pound 0.45359237 kg, both exactly. Quoted from memory; checked against scipy.constants.",
    ),
    Source(
        "shapley-1953",
        "published",
        "L. S. Shapley, A value for n-person games, Contributions to the Theory of Games II, Princeton 1953, 307. From "
        "memory; re-derived in the tests from its definition.",
    ),
    Source(
        "grabisch-roubens-1999",
        "published",
        "M. Grabisch, M. Roubens, An axiomatic approach to the concept of interaction among players in cooperative "
        "games, International Journal of Game Theory 28 (1999) 547. From memory; re-derived in the tests.",
    ),
    Source(
        "deb-2002",
        "published",
        "K. Deb, A. Pratap, S. Agarwal, T. Meyarivan, A fast and elitist multiobjective genetic algorithm: NSGA-II, "
        "IEEE Transactions on Evolutionary Computation 6 (2002) 182. From memory; as implemented in pymoo.",
    ),
    Source(
        "brown-1966",
        "published",
        "D. C. Brown, Decentering distortion of lenses, Photogrammetric Engineering 32 (1966) 444-462: the radial "
        "terms; from memory.",
    ),
    Source(
        "visvalingam-whyatt-1993",
        "published",
        "M. Visvalingam and J. D. Whyatt, Line generalisation by repeated elimination of points, The Cartographic "
        "Journal 30 (1993) 46-51; from memory.",
    ),
]

SOURCES: dict[str, Source] = {entry.key: entry for entry in _ENTRIES}


def source(key: str) -> Source:
    """Return the bibliography entry for `key`; an unknown key is a programming error and raises KeyError."""
    return SOURCES[key]
