from practice.lib.merges import Merge
from practice.lib.profile import Profile
from practice.lib.stamps import Stamp
from practice.models.client import Client, Place
from practice.models.find import FindEntry, FindNote
from practice.models.finding import Finding, Zone
from practice.models.horse import Horse, Owner
from practice.models.horse_time import HorseTime
from practice.models.life_event import LifeEvent
from practice.models.pairing_code import PairingCode
from practice.models.phone_entry import PhoneEntry
from practice.models.photo import Photo
from practice.models.press import Press
from practice.models.road import Leg, LegChange, OdometerChange, Reading, Vehicle
from practice.models.shoeing import Clips, FootRecord, Prescription
from practice.models.sign import Sign
from practice.models.visit import Visit
from practice.models.work import Foot, MaterialReturn, MaterialUse, Service, Work

__all__ = [
    "Client",
    "Clips",
    "FindEntry",
    "FindNote",
    "Finding",
    "Foot",
    "FootRecord",
    "Horse",
    "HorseTime",
    "Leg",
    "LegChange",
    "LifeEvent",
    "MaterialReturn",
    "MaterialUse",
    "Merge",
    "OdometerChange",
    "Owner",
    "PairingCode",
    "Photo",
    "PhoneEntry",
    "Place",
    "Prescription",
    "Press",
    "Profile",
    "Reading",
    "Service",
    "Sign",
    "Stamp",
    "Vehicle",
    "Visit",
    "Work",
    "Zone",
]
