"""The words of the tables, marked for the translators: they are read where a finding is said."""

from treatments.rules.findings import gettext_noop

FAMILIES = (
    gettext_noop("oil"),
    gettext_noop("sulfur"),
    gettext_noop("soap"),
    gettext_noop("copper"),
    gettext_noop("captan"),
)
SITES = (
    gettext_noop("ornamental shrub"),
    gettext_noop("rose"),
    gettext_noop("conifer"),
    gettext_noop("shade tree"),
    gettext_noop("herbaceous ornamental"),
    gettext_noop("lawn"),
    gettext_noop("edible crop"),
)
PESTS = (
    gettext_noop("spruce spider mite"),
    gettext_noop("southern red mite"),
    gettext_noop("boxwood mite"),
    gettext_noop("boxwood leafminer"),
    gettext_noop("euonymus scale"),
    gettext_noop("oystershell scale"),
    gettext_noop("pine needle scale"),
    gettext_noop("cottony maple scale"),
    gettext_noop("arborvitae leafminer"),
    gettext_noop("birch leafminer"),
    gettext_noop("two-spotted spider mite"),
    gettext_noop("crape myrtle aphid"),
    gettext_noop("aphids"),
    gettext_noop("azalea lace bug"),
)
RETURNS = (
    gettext_noop(
        "annual use report to the department by 1 February for the year before (ECL 33-1205)"
    ),
    gettext_noop(
        "monthly summary use report to the county agricultural commissioner by the 10th of the "
        "following month"
    ),
    gettext_noop(
        "accidents, incidents, injuries and illnesses: to the department at once and no later than "
        "48 hours; also yearly"
    ),
)
PREDATORS = (gettext_noop("green lacewing (Chrysoperla rufilabris)"),)
FORMULATIONS = (
    gettext_noop("aerosol dispenser"),
    gettext_noop("other liquid to be applied undiluted"),
    gettext_noop("other product to be applied undiluted"),
    gettext_noop("briquette"),
    gettext_noop("contact powder"),
    gettext_noop("capsule suspension"),
    gettext_noop("dispersible concentrate"),
    gettext_noop("dustable powder"),
    gettext_noop("tablet for direct application"),
    gettext_noop("emulsifiable concentrate"),
    gettext_noop("emulsifiable granule"),
    gettext_noop("emulsion, water in oil"),
    gettext_noop("emulsifiable powder"),
    gettext_noop("emulsion, oil in water"),
    gettext_noop("gel for direct application"),
    gettext_noop("emulsifiable gel"),
    gettext_noop("granule"),
    gettext_noop("water soluble gel"),
    gettext_noop("hot fogging concentrate"),
    gettext_noop("cold fogging concentrate"),
    gettext_noop("micro-emulsion"),
    gettext_noop("oil dispersion"),
    gettext_noop("oil miscible flowable concentrate"),
    gettext_noop("oil miscible liquid"),
    gettext_noop("oil dispersible powder"),
    gettext_noop("paste"),
    gettext_noop("plant rodlet"),
    gettext_noop("bait, ready for use"),
    gettext_noop("suspension concentrate"),
    gettext_noop("suspension concentrate for direct application"),
    gettext_noop("suspo-emulsion"),
    gettext_noop("water soluble granule"),
    gettext_noop("soluble concentrate"),
    gettext_noop("spreading oil"),
    gettext_noop("water soluble powder"),
    gettext_noop("water soluble tablet"),
    gettext_noop("ultra-low volume suspension"),
    gettext_noop("tablet"),
    gettext_noop("ultra-low volume liquid"),
    gettext_noop("vapour releasing product"),
    gettext_noop("water dispersible granule"),
    gettext_noop("wettable powder"),
    gettext_noop("water dispersible tablet"),
    gettext_noop("other"),
    gettext_noop("mixed formulation of CS and SC"),
    gettext_noop("mixed formulation of CS and SE"),
    gettext_noop("mixed formulation of CS and EW"),
)
APPROVALS = (
    gettext_noop("particulate facepiece, or mask with filter, or cartridge combined with filter"),
    gettext_noop("chemical cartridge without filter, or powered unit with cartridge"),
    gettext_noop("canister"),
    gettext_noop("powered unit, particles only"),
    gettext_noop("supplied air"),
    gettext_noop("self-contained breathing apparatus"),
)
RULE_SETS = (
    gettext_noop(
        "Federal: restricted-use pesticide records kept by commercial applicators (through "
        "state certification plans)"
    ),
    gettext_noop("Former federal RUP record rule (USDA) - NOT in force after 2025-07-10"),
    gettext_noop(
        "Federal: agricultural Worker Protection Standard (farms, forests, nurseries, greenhouses)"
    ),
    gettext_noop("New York"),
    gettext_noop("Pennsylvania"),
    gettext_noop("California"),
    gettext_noop("New Jersey"),
    gettext_noop("Connecticut"),
    gettext_noop("Maryland"),
    gettext_noop("Illinois"),
    gettext_noop("Ohio"),
    gettext_noop("Michigan"),
    gettext_noop("Wisconsin"),
    gettext_noop("Maine"),
    gettext_noop("Minnesota"),
    gettext_noop("Washington"),
    gettext_noop("Oregon"),
    gettext_noop("Idaho"),
    gettext_noop("Texas"),
    gettext_noop("Massachusetts"),
    gettext_noop("Colorado"),
    gettext_noop("Georgia"),
    gettext_noop("Florida"),
)
TOLD = (
    gettext_noop(
        "occupants of dwellings (and persons in charge of other premises) on abutting "
        "property with a boundary within 150 ft"
    ),
    gettext_noop(
        "each person on the hypersensitivity registry whose property line is within 500 ft"
    ),
    gettext_noop("residents on contiguous land who asked in writing at least 7 days ahead"),
    gettext_noop("owner or tenant abutting the treated property who asked for notice (registry)"),
    gettext_noop("the customer, if the customer asks"),
    gettext_noop("abutting residents who asked in writing"),
    gettext_noop(
        "registered neighbors on the state landscape registry (one registry a year, sign-up "
        "by 1 February)"
    ),
    gettext_noop("persons on the pesticide-sensitive list for abutting property"),
    gettext_noop(
        "pesticide-sensitive persons on the published registry living on, working/schooling "
        "at, or abutting the treated property"
    ),
)
COPIES = (
    gettext_noop("commercial applicator gives the customer a copy within 30 days (former 110.3)"),
    gettext_noop("only for restricted-use products used in producing an agricultural commodity"),
    gettext_noop("a copy must be given to the customer (no number of days stated)"),
    gettext_noop("restricted-use applications: copy to the customer within 30 days"),
)
# Citations that are not made of names and numbers alone.
CITATIONS = (
    gettext_noop("N.J.A.C. 7:30-7.3, 7:30-9.13 (and 7:30-8.8)"),
    gettext_noop("7 Pa. Code 128.35, 128.112, 128.85a (formerly 128.83)"),
    gettext_noop(
        "7 CFR 110.3 (rescinded: 90 FR 20083, FR Doc. 2025-08220, published 2025-05-12, effective "
        "2025-07-11)"
    ),
    gettext_noop("IDAPA 02.03.03.101 (agency page: 02.03.03.100.05)"),
)
SIGN_COLORS = (
    gettext_noop("yellow"),
    gettext_noop("white"),
    gettext_noop("bright yellow"),
    gettext_noop("white, beige, yellow or pink"),
    gettext_noop("black"),
    gettext_noop("dark"),
    gettext_noop("black bold"),
    gettext_noop("contrasting color"),
    gettext_noop("green, both sides alike"),
    gettext_noop("red, professionally printed"),
    gettext_noop("black, blue or green, bold"),
    gettext_noop("contrasting, capitals"),
)
SIGN_MOMENTS = (
    gettext_noop("before, not more than 24 h ahead"),
    gettext_noop("before"),
    gettext_noop("at start of application"),
    gettext_noop("at time of application"),
    gettext_noop("immediately after"),
)
SIGN_PLACES = (
    gettext_noop("visible from all normal points of entry; else corners of the area"),
    gettext_noop("visible from all normal points of entry, and no farther than 50 feet apart"),
    gettext_noop("visible from all normal points of entry, and no farther than 25 feet apart"),
    gettext_noop("along the perimeter, not more than 50 ft apart, front visible from outside"),
    gettext_noop("legible from streets and principal accesses"),
    gettext_noop("at each primary access, or at a spot treatment"),
    gettext_noop("usual point(s) of entry"),
    gettext_noop("conspicuous points; within 5 ft of the access point"),
    gettext_noop("primary point(s) of entry"),
    gettext_noop("2 to 5 ft from sidewalk or street"),
    gettext_noop("usual point of entry (homes); near each treated site (commercial)"),
    gettext_noop("conspicuous"),
)
SIGN_MOUNTS = (
    gettext_noop("rigid; top at least 12 in above ground"),
    gettext_noop("rigid"),
    gettext_noop("rigid; bottom 12 to 16 in above soil"),
    gettext_noop("bottom at least 12 in above turf"),
    gettext_noop("bottom edge at least 14 in above ground; weatherproof 24 h"),
    gettext_noop("rigid; bottom at least 12 in above turf"),
    gettext_noop("stable support; legible 72 h"),
    gettext_noop("rigid; lasts 48 h outdoors"),
    gettext_noop("projects at least 18 in above the grass line; rain-resistant 48 h"),
    gettext_noop("water resistant"),
)
SIGN_TERMS = (
    gettext_noop("through the REI; taken down or covered within 3 days after it ends"),
    gettext_noop("removed by owner/resident the day after application"),
    gettext_noop(
        "not removed before sunset of the day after application, or sunset of the day the "
        "label REI expires, whichever is later"
    ),
    gettext_noop("longer if the label REI is longer"),
    gettext_noop("no set period"),
)
# What a rule wants printed word for word stays in its own language and is not listed.
SIGN_CONTENTS = (
    gettext_noop("red circle with raised hand and stern face"),
    gettext_noop("date and time of application (unless handed to the owner before leaving)"),
    gettext_noop("warning symbol at least 1.5 in across"),
    gettext_noop("prohibition circle at least 2 in across: adult, child, dog on lawn"),
    gettext_noop("business name or license number"),
    gettext_noop("telephone"),
    gettext_noop("prohibition circle at least 2 in: person, child, dog"),
    gettext_noop("front: the department's uniform words and symbol"),
    gettext_noop("back: date applied, licensee name, licensee phone (18 pt or larger)"),
    gettext_noop("the department's wording and warning symbol"),
    gettext_noop("prohibition circle at least 2 in: adult, child, dog on leash"),
    gettext_noop("the wording of ATCP 29 Appendix B"),
    gettext_noop("removal date"),
    gettext_noop("board symbol"),
    gettext_noop("re-entry precautions from the label"),
    gettext_noop("company name and telephone"),
    gettext_noop("date and time of application"),
    gettext_noop("date and/or time to remove the sign"),
    gettext_noop("business or applicator name"),
    gettext_noop("headline THIS LANDSCAPE HAS BEEN TREATED BY"),
    gettext_noop("company name"),
    gettext_noop("footer FOR MORE INFORMATION PLEASE CALL and telephone"),
    gettext_noop("prohibition circle at least 2 in: adult, child, dog"),
    gettext_noop("applicator (business) name (18 pt bold)"),
    gettext_noop(
        "on unattended commercial sites also: telephone, pesticide name, date (18 pt bold)"
    ),
)
CONDITIONS = (
    gettext_noop("an uncertified person applied under supervision"),
    gettext_noop("the product has a re-entry time"),
    gettext_noop("different from the customer address"),
    gettext_noop("someone supervised"),
    gettext_noop("an uncertified, unregistered person took part"),
    gettext_noop("production of an agricultural commodity"),
    gettext_noop("the label states an REI"),
    gettext_noop("the label rate is per area"),
    gettext_noop("acreage applies"),
    gettext_noop("not for bait stations, indoors, or within 3 ft of a structure"),
    gettext_noop("as wind_direction"),
    gettext_noop("applicator holds the apprentice category"),
    gettext_noop("Worker Protection Standard site"),
    gettext_noop("agency page only, not in the 2024 rule text"),
    gettext_noop("outdoors"),
    gettext_noop("regulated herbicide in a regulated county"),
    gettext_noop("applied by a person under supervision"),
    gettext_noop("an accident, incident, injury or illness occurred"),
    gettext_noop("an unexpected occurrence (spill, exposure, drift)"),
    gettext_noop("pesticide was disposed of"),
    gettext_noop("restricted-use product"),
)
SIGN_OCCASIONS = (
    gettext_noop(
        "outdoor REI over 48 h, or enclosed-space REI over 4 h, or the label demands posting "
        "(label may demand posting AND oral warning); otherwise oral or posted"
    ),
    gettext_noop("any commercial lawn application"),
    gettext_noop("commercial turf or ornamental application (not minimum-risk products)"),
    gettext_noop("outdoor applications covered by 22a-66a(c)"),
    gettext_noop("pesticide to a lawn or exterior landscape plants"),
    gettext_noop("lawn care product applied to a lawn for hire"),
    gettext_noop("lawn pesticide application"),
    gettext_noop(
        "broadcast, foliar or space application to ornamental or turf (not golf course, farm, "
        "or general-use ready-to-use product)"
    ),
    gettext_noop("landscape application"),
    gettext_noop("category 3A or 3B application"),
    gettext_noop("turf application in a city that adopted an 18B.09 ordinance"),
    gettext_noop("landscape application; not for a fenced or isolated backyard"),
    gettext_noop("turf or ornamental application covered by 35-10-112(2)"),
    gettext_noop(
        "any pesticide, any formulation, spot work included, to a lawn or exterior foliage (not"
        " golf course, park, athletic field, cemetery)"
    ),
)
NOTICE_OCCASIONS = (
    gettext_noop(
        "only in a county/city that adopted the law: Albany, Erie, Monroe, Nassau, Rockland, "
        "Suffolk, Tompkins, Ulster, Westchester, New York City; some low-risk pesticides are "
        "exempt"
    ),
    gettext_noop("every commercial application near a registrant; listed exceptions exist"),
    gettext_noop("ornamental/shade-tree and lawn/turf categories"),
    gettext_noop("treatment within 100 yards of a property line"),
    gettext_noop("customer's request"),
    gettext_noop("request on file"),
    gettext_noop("landscape application within the person's notification area"),
    gettext_noop("any turf or ornamental application"),
)
NOTICE_WAYS = (
    gettext_noop("written, English and Spanish"),
    gettext_noop(
        "telephone, personal contact, certified mail, e-mail/fax if available; door notice "
        "after two failed calls"
    ),
    gettext_noop("attempt to reach them at least one business day before"),
    gettext_noop("written, in person or telephone; written notice left if unreachable"),
)
REMOVERS = (gettext_noop("customer"),)
