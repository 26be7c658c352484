"""Questions after which nobody goes on exercising without having spoken to a clinician.

A yes to any of them is never judged further here, and a no to all of them is no all-clear.
"""

from enum import StrEnum


class RedFlag(StrEnum):
    """What a client is asked before a session (sentences: table ``red_flag``). Stable: it is recorded.

    Grouped in our own words from primary-care pages on red flags of the shoulder: "Red flags when
    assessing the shoulder joint"; "Referral criteria from primary care - shoulder pain" (after
    Mitchell et al. 2005, BMJ 331:1124); and a regional health service's page.
    """

    TRAUMA = "trauma"
    CANNOT_LIFT = "cannot-lift"
    NUMB_OR_WEAK = "numb-or-weak"
    HOT_OR_FEVERISH = "hot-or-feverish"
    REST_OR_NIGHT_PAIN = "rest-or-night-pain"
    CHEST_BREATH_NECK_BELLY = "chest-breath-neck-belly"
    UNWELL = "unwell"
    SEIZURE_OR_SHOCK = "seizure-or-shock"
    HEADACHE_OR_SIGHT = "headache-or-sight"


MOST_PAIN = 5
"""Pain (0 to 10) above which a client is told to stop, where a programme sets no limit of its own.
The limit of 5 during exercise was used in a shoulder trial; sources of the pain-monitoring model
draw its border at 5 (Thomeé 1997, as drawn by Silbernagel 2007; from memory) or call 4 to 5 still
acceptable, so that it is a setting. A proposal."""
