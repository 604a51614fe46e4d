"""Settings: each value comes from an environment variable with a default that works at once.

Ours begin with DUSKBOOK_; the database and the broker keep the names everybody knows.  All of them
are listed in docker/env.example.
"""

from datetime import timedelta
from pathlib import Path
from urllib.parse import urlsplit

from csp.constants import NONE, SELF
from django.utils.translation import gettext_lazy as _
from kombu import Queue

from services.project import environment as env
from services.queues import QUEUES, ROUTES, SHORT

PROJECT = Path(__file__).resolve().parent
CHECKOUT = PROJECT.parent.parent

DATA = env.folder("DUSKBOOK_DATA", CHECKOUT / ".data")
PAPER_ROOT = DATA / "paper"
MEDIA_ROOT = DATA / "media"
EXPORT_ROOT = DATA / "exports"
MEDIA_URL = "media/"

DEBUG = env.switch("DUSKBOOK_DEBUG")
HTTPS = env.switch("DUSKBOOK_HTTPS")
PROXIES = env.whole_number("DUSKBOOK_PROXIES", 0)
SECRET_KEY = env.secret("DUSKBOOK_SECRET_KEY") or env.kept_secret(DATA / "secret-key")
JOURNAL_KEY = env.secret("DUSKBOOK_JOURNAL_KEY")
PAPER_CERTIFICATE = env.text("DUSKBOOK_PAPER_CERTIFICATE")
PAPER_PASSWORD = env.secret("DUSKBOOK_PAPER_PASSWORD")
BACKUP_KEY = env.secret("DUSKBOOK_BACKUP_KEY")
BACKUPS = env.folder("DUSKBOOK_BACKUPS", DATA / "backups")
# A nightly backup wants a folder and a key that its owner chose: beside the book both go with it.
NIGHTLY_BACKUPS = bool(BACKUP_KEY and env.text("DUSKBOOK_BACKUPS"))

# The health check asks from inside, so the machine's own names are always allowed.
OWN_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
HOSTS = env.words("DUSKBOOK_HOSTS")
ALLOWED_HOSTS = [*HOSTS, *OWN_HOSTS]
ADDRESS = env.address(
    "DUSKBOOK_ADDRESS",
    ("http", "https"),
    f"https://{ALLOWED_HOSTS[0]}" if HTTPS else "http://127.0.0.1:8000",
).rstrip("/")

ROOT_URLCONF = "services.project.urls"
WSGI_APPLICATION = "services.project.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "services",
    "treatments",
    "clients",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.forms",
    "django_htmx",
    "axes",
    "csp",
    "rest_framework",
    "drf_spectacular",
]

MIDDLEWARE = [
    "services.project.logs.RequestIdentity",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "services.project.typed.TypedAgain",
    "services.project.errors.WrongMethodTold",
    "services.project.downloads.KeysOnDownloads",
    "services.project.looks.LooksOfInspectors",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

# Figures for Prometheus; without a token there are none, and nothing is counted.
METRICS_TOKEN = env.secret("DUSKBOOK_METRICS_TOKEN")
METRICS_FOLDER = env.text("PROMETHEUS_MULTIPROC_DIR")
if METRICS_TOKEN:
    MIDDLEWARE.insert(1, "services.project.metrics.RequestsCounted")
# Queries that take so many milliseconds are logged; none when 0.
SLOW_QUERY_MS = env.whole_number("DUSKBOOK_SLOW_QUERY_MS", 0)
# Where errors of the program are reported; nowhere without.
SENTRY_DSN = env.address("SENTRY_DSN", ("http", "https"))

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [PROJECT / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.template.context_processors.i18n",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "services.project.frame.frame",
            ]
        },
    }
]
FORM_RENDERER = "services.project.forms.BookRenderer"

SQLITE = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": DATA / "duskbook.sqlite3",
    "OPTIONS": {
        # A deferred transaction that turns to writing fails at once when another one writes.
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": (
            "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
            "PRAGMA recursive_triggers=ON;"
        ),
    },
}
POSTGRES = env.postgres(env.address("DATABASE_URL", ("postgres", "postgresql")))
DATABASES = {"default": POSTGRES or SQLITE}

# One process counts in its own memory; several need a place they share.
CACHE_URL = env.address("CACHE_URL", ("redis", "rediss"))
if CACHE_URL:
    CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": CACHE_URL,
        }
    }
elif POSTGRES:
    CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.db.DatabaseCache",
            "LOCATION": "shared_cache",
        }
    }
else:
    CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

BROKER_URL = env.address("BROKER_URL", ("amqp", "amqps", "redis", "rediss"))
CELERY_BROKER_URL = BROKER_URL or "memory://localhost"
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# Without a server nobody rings: the worker looks by itself, and not only once a second.
CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, float] = {} if BROKER_URL else {"polling_interval": 0.1}
if BROKER_URL.startswith("redis"):
    # A lost worker's task comes back when this has passed, so it must exceed the hard limit.
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "visibility_timeout": 900,
        "unacked_restore_throttle": 1,
        "unacked_restore_interval": 5,
    }
CELERY_VISIBILITY_TIMEOUT = 900
# Each under its own name: without it all would be bound to the default one's, and get its work too.
CELERY_TASK_QUEUES = [Queue(name, routing_key=name) for name in QUEUES]
CELERY_TASK_DEFAULT_QUEUE = SHORT
CELERY_TASK_ROUTES = ROUTES
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_SERIALIZER = "json"
CELERY_RESULT_SERIALIZER = "json"
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_TIME_LIMIT = 300
CELERY_TASK_SOFT_TIME_LIMIT = 240
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_SOFT_SHUTDOWN_TIMEOUT = 30
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_TIMEZONE = "UTC"
# The schedule is this file, so beat has nothing to remember.
CELERY_BEAT_SCHEDULER = "celery.beat:Scheduler"
CELERY_BEAT_SCHEDULE = {
    **{
        f"feel the pulse of {queue}": {
            "task": "services.tasks.beat_pulse",
            "args": [queue],
            "schedule": timedelta(minutes=1),
            "options": {"queue": queue, "expires": 290},
        }
        for queue in QUEUES
    },
    "check the whole book once a day": {
        "task": "services.tasks.check_book",
        "schedule": timedelta(hours=1),
        "options": {"expires": 3_500},
    },
    "sweep the outbox": {
        "task": "services.tasks.sweep_outbox",
        "schedule": timedelta(minutes=1),
        "options": {"expires": 55},
    },
    "keep a checkpoint of the journal": {
        "task": "services.tasks.keep_checkpoint",
        "schedule": timedelta(hours=1),
        "options": {"expires": 3_500},
    },
    "make the backup of a day": {
        "task": "services.tasks.back_up",
        "schedule": timedelta(hours=1),
        "options": {"expires": 3_500},
    },
    "tell the owners what is late": {
        "task": "services.tasks.queue_digests",
        "schedule": timedelta(hours=1),
        "options": {"expires": 3_500},
    },
    "sweep the plans in the making": {
        "task": "services.tasks.sweep_plannings",
        "schedule": timedelta(minutes=1),
        "options": {"expires": 55},
    },
    "sweep the files that are brought": {
        "task": "services.tasks.sweep_bringings",
        "schedule": timedelta(minutes=1),
        "options": {"expires": 55},
    },
    "sweep the exports of the book": {
        "task": "services.tasks.sweep_exports",
        "schedule": timedelta(minutes=1),
        "options": {"expires": 55},
    },
    "sweep the packages of records": {
        "task": "services.tasks.sweep_packages",
        "schedule": timedelta(minutes=1),
        "options": {"expires": 55},
    },
    "look for forecasts": {
        "task": "services.tasks.sweep_forecasts",
        "schedule": timedelta(minutes=5),
        "options": {"expires": 290},
    },
}

AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 15},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "login"
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
# A name alone would let a stranger lock out the owner, an address alone the whole office.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False
# What is kept of a failed try names nobody and holds nothing that would have opened.
AXES_SENSITIVE_PARAMETERS = [
    "username",
    "ip_address",
    "again",
    "one_time_code",
    "recovery_code",
    "typed",
]
AXES_CLIENT_IP_CALLABLE = "services.project.proxies.sender_of"
AXES_LOCKOUT_CALLABLE = "services.project.errors.locked_out"

SESSION_COOKIE_AGE = int(timedelta(hours=12).total_seconds())
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = HTTPS
SESSION_COOKIE_NAME = "__Host-session" if HTTPS else "session"
CSRF_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_NAME = "__Host-csrf" if HTTPS else "csrf"
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in HOSTS] if HTTPS else []
CSRF_FAILURE_VIEW = "services.project.errors.stale_form"
LANGUAGE_COOKIE_HTTPONLY = True
LANGUAGE_COOKIE_SAMESITE = "Lax"
LANGUAGE_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$", r"^metrics$"]
SECURE_HSTS_SECONDS = int(timedelta(days=365).total_seconds()) if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS and PROXIES else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# To ask for a place on the browsers' preload list is a decision about a domain, not a program.
SILENCED_SYSTEM_CHECKS = ["security.W021"]

# Forecasts of the national weather service, which asks who is calling; nothing is fetched when off.
WEATHER = env.switch("DUSKBOOK_WEATHER")
WEATHER_CONTACT = env.contact("DUSKBOOK_WEATHER_CONTACT", is_needed=WEATHER)
WEATHER_HOSTS = ["api.weather.gov"]

# Servers of other programs that may be called when something happened; none without.
HOOKS = env.servers("DUSKBOOK_HOOKS")

# A road server of one's own; without one, drives are reckoned from the great circle.
ROADS = env.server("DUSKBOOK_ROADS")
ROADS_KIND = env.one_of("DUSKBOOK_ROADS_KIND", ("osrm", "valhalla"), "osrm")

# The address of map tiles with {z}, {x} and {y}; without one maps are drawn over plain ground.
MAP_TILES = env.address("DUSKBOOK_MAP_TILES", ("https",))
MAP_TILES_CREDIT = env.text("DUSKBOOK_MAP_TILES_CREDIT")
TILE_HOSTS = [f"https://{urlsplit(MAP_TILES).netloc}"] if MAP_TILES else []
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:", *TILE_HOSTS],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

DATA_UPLOAD_MAX_MEMORY_SIZE = 1024 * 1024
# A week of a thousand visits sends a field for each row; what is sent is bounded in bytes above.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_500
DATA_UPLOAD_MAX_NUMBER_FILES = 20
FILE_UPLOAD_MAX_MEMORY_SIZE = 1024 * 1024
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700

LANGUAGE_CODE = env.one_of("DUSKBOOK_LANGUAGE", ("en", "es"), "en")
LANGUAGES = [("en", _("English")), ("es", _("Spanish"))]
LOCALE_PATHS = [PROJECT / "locale"]
FORMAT_MODULE_PATH = ["services.project.formats"]
TIME_ZONE = "UTC"
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = DATA / "static"
STATICFILES_DIRS = [PROJECT / "static"]
# Names carry a digest of the content, so browsers may keep a file for ever; files are sent packed.
STATIC_STORE = (
    "django.contrib.staticfiles.storage.StaticFilesStorage"
    if DEBUG
    else "whitenoise.storage.CompressedManifestStaticFilesStorage"
)
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": STATIC_STORE},
}

# Until a mail server is named, each mail is a file in the data folder.
EMAIL_HOST = env.text("DUSKBOOK_MAIL_HOST")
EMAIL_PORT = env.whole_number("DUSKBOOK_MAIL_PORT", 587, least=1)
EMAIL_HOST_USER = env.text("DUSKBOOK_MAIL_USER")
EMAIL_HOST_PASSWORD = env.secret("DUSKBOOK_MAIL_PASSWORD")
EMAIL_USE_TLS = env.switch("DUSKBOOK_MAIL_TLS", default=True)
EMAIL_TIMEOUT = 20
EMAIL_FILE_PATH = DATA / "mail"
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'filebased'}.EmailBackend"
DEFAULT_FROM_EMAIL = env.text("DUSKBOOK_MAIL_FROM", "duskbook@localhost")
SERVER_EMAIL = DEFAULT_FROM_EMAIL

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "services.program_keys.KeySignIn",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["services.project.parsing.ShallowJSONParser"],
    "DEFAULT_PAGINATION_CLASS": "services.project.paging.Pages",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_THROTTLE_CLASSES": [
        "rest_framework.throttling.UserRateThrottle",
        "rest_framework.throttling.AnonRateThrottle",
    ],
    "DEFAULT_THROTTLE_RATES": {"user": "600/min", "anon": "30/min"},
    "EXCEPTION_HANDLER": "services.project.errors.problem",
    "NUM_PROXIES": PROXIES,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Duskbook",
    "DESCRIPTION": "Clients and their plantings, treatments and their records, visits and crews.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "ENUM_NAME_OVERRIDES": {
        "BasisEnum": "treatments.forms.rotations.BASES",
        "StageEnum": "treatments.models.products.STAGES",
        "ChargeKindEnum": "services.models.statements.KINDS",
        "ContactOutcomeEnum": "services.models.ContactAttempt.Outcome",
        "CourseOutcomeEnum": "services.models.Course.Outcome",
        "StepEnum": "treatments.models.RotationWeek.Step",
        "OfferEnum": "services.models.Planning.Offer",
        "StepWithoutSprayEnum": "services.forms.steps.WITHOUT_SPRAY",
        "PersonLanguageEnum": "services.models.Technician.LANGUAGES",
        "SignColorEnum": "services.forms.own_signs.COLORS",
    },
}

LOG_LEVEL = env.one_of("DUSKBOOK_LOG_LEVEL", ("DEBUG", "INFO", "WARNING", "ERROR"), "INFO")
LOG_FORM = env.one_of("DUSKBOOK_LOG_FORM", ("plain", "json"), "plain")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "json": {"()": "services.project.logs.JsonLines"},
        "plain": {"()": "services.project.logs.PlainLines"},
    },
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": LOG_FORM}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": [], "level": "WARNING", "propagate": True},
        "django.server": {"handlers": [], "level": "WARNING", "propagate": True},
        # Any stranger can send a wrong host; each would be a trace.
        "django.security.DisallowedHost": {"level": "CRITICAL"},
        **{name: {"level": LOG_LEVEL} for name in ("clients", "treatments", "services")},
    },
}
