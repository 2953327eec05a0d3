"""All settings, in one file. Each environment variable is listed in DEVELOPERS.md."""

from datetime import timedelta
from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF

from practice.project.data import data_folder, secret_key, time_zone
from practice.project.env import InvalidVariable, env_bool, env_date, env_int, env_str
from practice.project.system import pdf_problem

VERSION = "0.1.0"
BASE_DIR = Path(__file__).resolve().parent.parent.parent
DATA_DIR = data_folder(Path(env_str("ROUNDBOOK_DATA") or BASE_DIR / "data"))
LOG_FILE = DATA_DIR / "logs" / "roundbook.log"
SECRET_KEY = secret_key(DATA_DIR)
HTTPS = env_bool("ROUNDBOOK_HTTPS")
PORT = env_int("ROUNDBOOK_PORT", None, 1, 65535)
TODAY = env_date("ROUNDBOOK_TODAY")
FIRST_USER, FIRST_PASSWORD = env_str("ROUNDBOOK_USER"), env_str("ROUNDBOOK_PASSWORD")
if bool(FIRST_USER) != bool(FIRST_PASSWORD):
    raise InvalidVariable("Set both ROUNDBOOK_USER and ROUNDBOOK_PASSWORD, or neither.")
DEBUG = env_bool("ROUNDBOOK_DEBUG")
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]", *env_str("ROUNDBOOK_HOSTS").split()]
# Where others reach the book; blank: nowhere but on this machine.
HOSTS = env_str("ROUNDBOOK_HOSTS").split()
PUBLIC_ADDRESS = f"https://{HOSTS[0]}" if HTTPS and HOSTS else ""
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in env_str("ROUNDBOOK_HOSTS").split()]

INSTALLED_APPS = [
    # Before Django's own, so that a command of ours hides one of the same name.
    "stock",
    "practice",
    "billing",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "axes",
    "csp",
    "django_htmx",
    "django_tables2",
    "practice.project",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "practice.project.waiting.wait_for_restore",
    "django.middleware.http.ConditionalGetMiddleware",
    "practice.project.private.keep_private",
    "csp.middleware.CSPMiddleware",
    "practice.project.serving.cookies.secure_cookies",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "practice.project.logins.note_logins",
    "practice.project.body_limits.bound_bodies",
    "practice.project.login.LoginRequired",
    "practice.project.backup_worker.FirstUse",
    "django.contrib.messages.middleware.MessageMiddleware",
    "practice.project.phone.quiet.keep_messages",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "practice.project.button_addresses.lead_to_the_page_above",
    "axes.middleware.AxesMiddleware",
    "practice.project.sent_forms.SentForms",
]
ROOT_URLCONF = "practice.project.urls"
WSGI_APPLICATION = "practice.project.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "practice.project.context.roundbook",
            ],
            "builtins": [
                "django.templatetags.static",
                "practice.templatetags.practice_format",
                "practice.templatetags.parts",
            ],
        },
    },
]

DATABASE_URL = env_str("DATABASE_URL")
# What a server that starts with the machine is told as this one was (`manage.py install`).
SERVICE_VARIABLES = {
    "ROUNDBOOK_DATA": str(DATA_DIR),
    **{
        name: env_str(name)
        for name in ("ROUNDBOOK_HTTPS", "ROUNDBOOK_HOSTS", "ROUNDBOOK_TIMEZONE")
        if env_str(name)
    },
}
if DATABASE_URL:
    try:
        if not DATABASE_URL.startswith(("postgres://", "postgresql://")):
            raise ValueError
        DATABASES = {"default": dj_database_url.parse(DATABASE_URL)}
    except ValueError:
        raise InvalidVariable(
            "DATABASE_URL is not an address such as postgres://user@host:5432/name."
        ) from None
    DATABASES["default"]["OPTIONS"] = {"connect_timeout": 5, **DATABASES["default"].get("OPTIONS", {})}
else:
    DATABASES = {
        "default": {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": DATA_DIR / "roundbook.sqlite3",
            "OPTIONS": {
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                # FULL: what was saved outlives a power cut, the number of an invoice above all.
                # 16 MB of pages: a year's totals then read each page once, however old the book is.
                "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-16000;",
            },
            # The tests' book is a real file in a data folder of their own (tests/conftest.py).
            "TEST": {"NAME": DATA_DIR / "roundbook.sqlite3"},
        }
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "practice.project.passwords.LongEnough", "OPTIONS": {"min_length": 12}},
    {"NAME": "practice.project.passwords.NotCommon"},
    {"NAME": "practice.project.passwords.NotTheName", "OPTIONS": {"user_attributes": ["username"]}},
    {"NAME": "practice.project.passwords.NotDigitsAlone"},
]
LOGIN_URL, LOGIN_REDIRECT_URL, LOGOUT_REDIRECT_URL = "login", "/", "login"
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_LOCKOUT_CALLABLE = "practice.project.login.locked_out"
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False

CSRF_FAILURE_VIEW = "practice.project.login.csrf_failed"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 60 * 60 * 24 * 60
# Browsers take a cookie with this prefix over https only, from this very host, and for no other.
COOKIE_PREFIX = "__Host-" if HTTPS else ""
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = f"{COOKIE_PREFIX}roundbook_session", f"{COOKIE_PREFIX}roundbook_csrf"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^health/$"]  # asked on this machine, beside the server that speaks HTTPS
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        **dict.fromkeys(
            [
                "script-src",
                "style-src",
                "font-src",
                "connect-src",
                "manifest-src",
                "worker-src",
                "form-action",
            ],
            [SELF],
        ),
        "img-src": [SELF, "data:"],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    }
}

LANGUAGE_CODE = "en-us"
TIME_ZONE = time_zone(env_str("ROUNDBOOK_TIMEZONE"))
USE_I18N = True
USE_TZ = True
USE_THOUSAND_SEPARATOR = False

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
WHITENOISE_KEEP_ONLY_HASHED_FILES = True
PDF_PROBLEM = pdf_problem
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "practice.project.fonts.FontFinder",
]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "practice.project.static_files.StaticFiles"},
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000
DJANGO_TABLES2_TEMPLATE = "parts/table.html"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "plain": {
            "()": "practice.project.log.LogText",
            "format": "{asctime} {levelname} {name}: {message}",
            "style": "{",
        }
    },
    "handlers": {
        "file": {
            "class": "practice.project.log.LogFile",
            "filename": LOG_FILE,
            "maxBytes": 2_000_000,
            "backupCount": 3,
            "formatter": "plain",
            "delay": True,
            "encoding": "utf-8",
        }
    },
    "root": {"handlers": ["file"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": [], "level": "WARNING", "propagate": True},
        "pypdf": {"level": "CRITICAL"},  # what is wrong with a file is said to who sent it
    },
}
