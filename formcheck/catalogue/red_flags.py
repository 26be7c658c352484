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
"""Pain (0 to 10) above which a client is told to stop, where a programme sets no limit of its own. In the
pain-monitoring model 2 to 5 is acceptable and more is not (borders from memory); a physiotherapy page
gives it as 4 to 5 acceptable, and a shoulder trial used 5 as its limit during exercise. Another trial
(Trials 2024, doi:10.1186/s13063-024-07973-6) sets 3 to 5 against at most 2, so it is a setting.
Published: Thomeé 1997, Phys Ther 77:1690; Silbernagel et al. 2007, Am J Sports Med 35:897."""
