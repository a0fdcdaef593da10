"""The table of places that lie outside the customs or the tax area of the country they belong to,
or inside that of another one.

Every place is one row, so that it can be read, checked and corrected by itself. Where no row fits,
a country is an area of its own, or a member of one of the areas below.
"""

from __future__ import annotations

from dataclasses import dataclass

SOURCE = (
    "Regulation (EU) No 952/2013, article 4 (customs territory of the Union); Directive"
    " 2006/112/EC, articles 5 to 7 (VAT territory); the customs treaties of Switzerland with"
    " Liechtenstein and for Büsingen; the Windsor Framework for Northern Ireland; the customs rules"
    " of the posts of the United Kingdom and of the United States for their islands and military"
    " post"
)
#: The table was written down on this day, from memory; nobody has held it against the texts since.
CHECKED = "written down from memory on 26 November 2026, not held against the texts since"

EU = "European Union"
UK = "United Kingdom"
_EUROPEAN_UNION = "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK"
#: The customs and tax area that a whole country belongs to, where that is not its own.
AREAS: dict[str, str] = dict.fromkeys(_EUROPEAN_UNION.split(), EU) | {
    "GB": UK,
    "CH": "Switzerland",
    "LI": "Switzerland",
    "US": "United States",
    "NO": "Norway",
}


@dataclass(frozen=True)
class CustomsPlace:
    """A place by its ISO country and the beginnings of its postcodes, parted by bars (empty for all
    of the country).

    ``customs`` and ``tax`` name the areas it is in: a parcel goes without papers where both are the
    sender's. Empty is an area of its own. ``words`` say what makes it special.
    """

    key: str
    name: str
    where: tuple[tuple[str, str], ...]
    customs: str = ""
    tax: str = ""
    words: str = ""
    unclear: tuple[str, ...] = ()

    @property
    def postcodes(self) -> str:
        """Its countries and the beginnings of its postcodes, as one writes them."""
        written = (
            f"{country} {begins.replace('|', ', ')}".strip() for country, begins in self.where
        )
        return "; ".join(written)


_OUTSIDE_VAT = "inside the customs territory of the Union, outside its VAT territory"
_OUTSIDE_BOTH = "outside the customs and the VAT territory of the Union"
_OVERSEAS = "outermost region: " + _OUTSIDE_VAT
_OTHER_OVERSEAS = "overseas country or territory: " + _OUTSIDE_BOTH

PLACES: tuple[CustomsPlace, ...] = (
    CustomsPlace(
        "canary-islands", "Canary Islands", (("ES", "35|38"), ("IC", "")), EU, "", _OUTSIDE_VAT
    ),
    CustomsPlace("ceuta", "Ceuta", (("ES", "51"),), words=_OUTSIDE_BOTH),
    CustomsPlace("melilla", "Melilla", (("ES", "52"),), words=_OUTSIDE_BOTH),
    CustomsPlace("aland", "Åland", (("FI", "22"), ("AX", "")), EU, "", _OUTSIDE_VAT),
    CustomsPlace("heligoland", "Heligoland", (("DE", "27498"),), words=_OUTSIDE_BOTH),
    CustomsPlace(
        "buesingen",
        "Büsingen",
        (("DE", "78266"), ("CH", "8238")),
        "Switzerland",
        "Switzerland",
        "German, but in the customs area of Switzerland",
    ),
    CustomsPlace("livigno", "Livigno", (("IT", "23041|23030"),), words=_OUTSIDE_BOTH),
    CustomsPlace(
        "campione", "Campione d'Italia", (("IT", "22061"), ("CH", "6911")), EU, "", _OUTSIDE_VAT
    ),
    CustomsPlace("mount-athos", "Mount Athos", (("GR", "63086|63087"),), EU, "", _OUTSIDE_VAT),
    CustomsPlace("saint-martin", "Saint-Martin", (("FR", "97150"), ("MF", "")), EU, "", _OVERSEAS),
    CustomsPlace(
        "saint-barthelemy",
        "Saint Barthélemy",
        (("FR", "97133"), ("BL", "")),
        words=_OTHER_OVERSEAS,
    ),
    CustomsPlace("guadeloupe", "Guadeloupe", (("FR", "971"), ("GP", "")), EU, "", _OVERSEAS),
    CustomsPlace("martinique", "Martinique", (("FR", "972"), ("MQ", "")), EU, "", _OVERSEAS),
    CustomsPlace("french-guiana", "French Guiana", (("FR", "973"), ("GF", "")), EU, "", _OVERSEAS),
    CustomsPlace("reunion", "Réunion", (("FR", "974"), ("RE", "")), EU, "", _OVERSEAS),
    CustomsPlace("mayotte", "Mayotte", (("FR", "976"), ("YT", "")), EU, "", _OVERSEAS),
    CustomsPlace(
        "saint-pierre-and-miquelon",
        "Saint Pierre and Miquelon",
        (("FR", "975"), ("PM", "")),
        words=_OTHER_OVERSEAS,
    ),
    CustomsPlace(
        "french-pacific",
        "French Polynesia, New Caledonia, Wallis and Futuna, French Southern Territories",
        (("FR", "984|986|987|988"), ("PF", ""), ("NC", ""), ("WF", ""), ("TF", "")),
        words=_OTHER_OVERSEAS,
    ),
    CustomsPlace(
        "monaco",
        "Monaco",
        (("MC", ""), ("FR", "980")),
        EU,
        EU,
        "not of the Union, but of its customs and VAT territory",
    ),
    CustomsPlace(
        "san-marino",
        "San Marino",
        (("SM", ""), ("IT", "4789")),
        words="in a customs union with the Union, outside its territories",
    ),
    CustomsPlace("vatican", "Vatican City", (("VA", ""), ("IT", "00120")), words=_OUTSIDE_BOTH),
    CustomsPlace(
        "andorra",
        "Andorra",
        (("AD", ""), ("FR", "99130"), ("ES", "AD")),
        words="in a customs union with the Union for some goods, outside its territories",
    ),
    CustomsPlace("faroe", "Faroe Islands", (("FO", ""), ("DK", "FO")), words=_OUTSIDE_BOTH),
    CustomsPlace("greenland", "Greenland", (("GL", ""), ("DK", "39")), words=_OUTSIDE_BOTH),
    CustomsPlace("gibraltar", "Gibraltar", (("GI", ""), ("GB", "GX11")), words=_OUTSIDE_BOTH),
    CustomsPlace(
        "isle-of-man",
        "Isle of Man",
        (("IM", ""), ("GB", "IM")),
        UK,
        UK,
        "in the customs and VAT area of the United Kingdom",
    ),
    CustomsPlace(
        "jersey",
        "Jersey",
        (("JE", ""), ("GB", "JE")),
        UK,
        "",
        "in a customs union with the United Kingdom, outside its VAT area",
    ),
    CustomsPlace(
        "guernsey",
        "Guernsey and its islands",
        (("GG", ""), ("GB", "GY")),
        UK,
        "",
        "in a customs union with the United Kingdom, outside its VAT area",
    ),
    CustomsPlace(
        "northern-ireland",
        "Northern Ireland",
        (("GB", "BT"),),
        EU,
        EU,
        "goods follow the rules of the Union; what a parcel from or to Great Britain needs depends"
        " on the sender and the carrier",
        (UK,),
    ),
    CustomsPlace(
        "svalbard",
        "Svalbard and Jan Mayen",
        (("SJ", ""), ("NO", "917|8099")),
        words="outside the customs and VAT area of Norway",
    ),
    CustomsPlace(
        "samnaun",
        "Samnaun",
        (("CH", "7562|7563"),),
        words="outside the customs and VAT area of Switzerland",
    ),
    CustomsPlace(
        "us-military-post",
        "United States military post (APO, FPO, DPO)",
        (("US", "090|091|092|093|094|095|096|097|098|340|962|963|964|965|966"),),
        words="carried abroad: the post asks for a customs form",
    ),
    CustomsPlace(
        "british-forces-post",
        "British Forces post (BFPO)",
        (("GB", "BF1"),),
        words="carried abroad: the post asks for a customs form",
    ),
    CustomsPlace(
        "puerto-rico",
        "Puerto Rico",
        (("PR", ""), ("US", "006|007|009")),
        "United States",
        "United States",
        "in the customs area of the United States",
    ),
    CustomsPlace(
        "us-virgin-islands",
        "United States Virgin Islands",
        (("VI", ""), ("US", "008")),
        words="outside the customs area of the United States",
    ),
    CustomsPlace(
        "us-pacific",
        "Guam, American Samoa and the Northern Mariana Islands",
        (("GU", ""), ("AS", ""), ("MP", ""), ("US", "9691|9692|9693|9695|96799")),
        words="outside the customs area of the United States",
    ),
)
