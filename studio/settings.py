"""Every deployment choice is an environment variable with a default that runs; DEVELOPERS.md lists them."""

from pathlib import Path

import django_stubs_ext

from studio.environment import Environment, also_from, host_of, origin_of, secret_key

django_stubs_ext.monkeypatch()

BASE_DIR = Path(__file__).resolve().parent.parent
env = Environment()

# --- where and how it runs -------------------------------------------------------------------------
DEBUG = env.bool("DEBUG", default=False)
DATA_DIR = Path(env.str("DATA_DIR", default=str(BASE_DIR / "var")))
(DATA_DIR / "static").mkdir(parents=True, exist_ok=True)
PRODUCTION = env.bool("PRODUCTION", default=False)
SECRET_KEY = secret_key(env.str("SECRET_KEY", default=""), DATA_DIR, PRODUCTION)
BIND = env.str("BIND", default="127.0.0.1")
PORT = env.int("PORT", default=8000)
WEB_WORKERS = env.int("WEB_WORKERS", default=2)
WEB_THREADS = env.int("WEB_THREADS", default=4)
SITE_ADDRESS = env.str("SITE_ADDRESS", default=f"http://127.0.0.1:{PORT}").rstrip("/")
HERE = ["127.0.0.1", "localhost", "[::1]"]
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=[*HERE, host_of(SITE_ADDRESS)])
HTTPS = SITE_ADDRESS.startswith("https:")
CSRF_TRUSTED_ORIGINS = [SITE_ADDRESS]
# whether an empty database gets the invented studio, whose passwords are known to all
DEMO = env.bool("DEMO", default=True) and not PRODUCTION

# --- the site --------------------------------------------------------------------------------------
INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "django_htmx",
    "django_tasks",
    "django_tasks_db",
    "csp",
    "studio",
    "reeds",
    "lessons",
]
MIDDLEWARE = [
    "studio.room.roomy",
    "studio.middleware.identified",
    "studio.timing.server_timing",
    "csp.middleware.CSPMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "studio.compressed.CompressedPages",
    "studio.middleware.private_by_default",
    "studio.middleware.asks_for_nobody",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "studio.middleware.bounded",  # before any of a body is read; whose session it is is asked once
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "studio.offline.made_for_somebody",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "studio.languages.OwnLanguage",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "studio.middleware.MemberMiddleware",
    "studio.trouble.DatabaseTrouble",
    "studio.once.once",
]
ROOT_URLCONF = "studio.urls"
WSGI_APPLICATION = "studio.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "studio.timing.TimedTemplates"
        if DEBUG
        else "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
            "builtins": [
                "studio.templatetags.here",
                "studio.templatetags.refused",
                "django.templatetags.i18n",
                "django.templatetags.static",
            ],
        },
    }
]
FORM_RENDERER = "studio.widgets_written.Written"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "img-src": ["'self'", "blob:", "data:"],
        "media-src": ["'self'", "blob:"],
        "worker-src": ["'self'"],
        "manifest-src": ["'self'"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}

# --- data ------------------------------------------------------------------------------------------
DATABASES = {"default": env.db_url("DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'studio.sqlite3'}")}
# opened anew for each request, SQLite's would be written back and closed with each last one
DATABASES["default"]["CONN_MAX_AGE"] = 600
DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL;PRAGMA foreign_keys=ON;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
# kept files in a bucket of an S3-compatible service, where one is named; else on the disk
S3_BUCKET = env.str("S3_BUCKET", default="")
S3_PREFIX = env.str("S3_PREFIX", default="").strip("/")
S3_ENDPOINT = env.str("S3_ENDPOINT", default="").rstrip("/")
S3_BROWSER_ENDPOINT = env.str("S3_BROWSER_ENDPOINT", default=S3_ENDPOINT).rstrip("/")
S3_REGION = env.str("S3_REGION", default="us-east-1")
S3_KEY = env.str("S3_KEY", default="")
S3_SECRET = env.str("S3_SECRET", default="")
if S3_BUCKET:
    # a browser fetches files from there, and sends them there
    also_from(CONTENT_SECURITY_POLICY["DIRECTIVES"], origin_of(S3_BROWSER_ENDPOINT))
# nothing below MEDIA_ROOT is served: a photo leaves only through a view that asks who wants it
MEDIA_ROOT = DATA_DIR / "files"
# the location of nginx, closed to everybody else, by which it sends what a view has let through
X_ACCEL = env.str("X_ACCEL", default="")
STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {
        "BACKEND": "studio.backup.in_bucket.HoldingBucket"
        if S3_BUCKET
        else "studio.backup.storage.HoldingStorage"
    },
    "staticfiles": {
        "BACKEND": "studio.assets.HashedStaticFiles"
        if PRODUCTION
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
# where the worker backs up to once a day, and how many it keeps; nowhere unless told
BACKUP_DIR = env.str("BACKUP_DIR", default="")
BACKUP_KEEP = env.int("BACKUP_KEEP", default=7)
WHITENOISE_USE_FINDERS = not PRODUCTION
# rate limits live in the cache, so every process must share it
CACHES = {
    # what counts sign-ins must not be pushed out by whoever makes many entries: Django keeps 300
    "default": {"OPTIONS": {"MAX_ENTRIES": 100_000}} | env.cache_url("CACHE_URL", default="dbcache://cache"),
}
# the worker's queues, and how many tasks of each it runs at a time: see studio/queues.py
QUEUES = {"pictures": 2, "sounds": 2, "mail": 1, "papers": 1, "default": 1}
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": list(QUEUES)}}

# a push service is a machine of the public Internet; only tests have one of their own
PUSH_TO_INSIDE = False

# what people send is decoded and measured in processes of their own, see studio/confined
CONFINE = True
CONFINED_JOBS = ["reeds.photo.vision.jobs", "reeds.take.sound.jobs"]

# a photo or take of the largest size we accept must fit, the limits themselves are in reeds/photo/uploads.py
DATA_UPLOAD_MAX_MEMORY_SIZE = 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
FILE_UPLOAD_PERMISSIONS = 0o640 if X_ACCEL else 0o600  # then nginx is in our group, and reads
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o750 if X_ACCEL else None

# --- people ----------------------------------------------------------------------------------------
AUTH_USER_MODEL = "studio.Person"
AUTHENTICATION_BACKENDS = ["studio.accounts.UserNameOrOwnEmail"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
    {"NAME": "studio.passwords.NotOfTheTradeAlone"},
]
ACCOUNT_ADAPTER = "studio.accounts.InvitedOnly"
ACCOUNT_RATE_LIMITS = {
    # who signed in from here before is not locked out by strangers who try: see studio/devices.py
    "known_device": "5/300s/key",
    "new_address": "1/180s/key,6/3600s/user",
    "challenge": "30/m/ip",  # each asks for a passkey, and is a session
}
ACCOUNT_LOGIN_METHODS = {"username", "email"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "email", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_FORMS = {
    "login": "studio.accounts.SignInForm",
    "reset_password": "studio.accounts.ResetForm",
    "change_password": "studio.password_forms.ChangePassword",
    "reset_password_from_key": "studio.password_forms.NewPassword",
    "reauthenticate": "studio.password_forms.PasswordOnceMore",
}
# allauth's own keeps each address that a person ever had, and would let them in by it
ACCOUNT_PASSWORD_RESET_TOKEN_GENERATOR = "django.contrib.auth.tokens.PasswordResetTokenGenerator"  # noqa: S105  # a class
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
ACCOUNT_SESSION_REMEMBER = True
# a second step at signing in: see studio/second_step.py; tries are counted as those of passwords are
MFA_ADAPTER = "studio.second_step.SecondStep"
MFA_FORMS = {
    "activate_totp": "studio.second_step.PhoneSetUp",
    "add_webauthn": "studio.passkeys.AddPasskey",
    "login_webauthn": "studio.passkeys.SignInByPasskey",
    "authenticate_webauthn": "studio.passkeys.PasskeyAsSecondStep",
    "reauthenticate_webauthn": "studio.passkeys.PasskeyOnceMore",
}
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_WEBAUTHN_USER_VERIFICATION = "required"  # it stands for the password too
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = not HTTPS and not PRODUCTION
MFA_RECOVERY_CODES_SHOW_ONCE = True
# allauth knows of no address: ours stand in the person's row, see studio/addresses.py
MFA_ALLOW_UNVERIFIED_EMAIL = True
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "start"
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
# a student stays signed in for the term
SESSION_COOKIE_AGE = 180 * 24 * 3600
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
# a browser takes a cookie of this name only over TLS, for all paths, from this very host
COOKIES_OF = "__Host-" if HTTPS else ""
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME, DEVICE_COOKIE_NAME, LANGUAGE_COOKIE_NAME = (
    COOKIES_OF + name for name in ("sessionid", "csrftoken", "device", "language")
)
LANGUAGE_COOKIE_SECURE, LANGUAGE_COOKIE_HTTPONLY = HTTPS, True
LANGUAGE_COOKIE_AGE = 365 * 24 * 3600
CSRF_COOKIE_HTTPONLY = True  # scripts send the token of their form
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS and PRODUCTION else 0
SECURE_SSL_REDIRECT = HTTPS and PRODUCTION
# who watches asks the port itself
SECURE_REDIRECT_EXEMPT = [r"^(healthz|readyz)$"]
# what else the domain serves is not ours to decide
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
PROXIES = env.count("BEHIND_PROXY")
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if PROXIES else None
# sign-ins are counted by the visitor's address, not by that of the proxy, which is everybody's
ALLAUTH_TRUSTED_PROXY_COUNT = PROXIES
SECURE_REFERRER_POLICY = "same-origin"

# --- words and times -------------------------------------------------------------------------------
LANGUAGE_CODE = "en"
# each in its own words: whoever looks for it reads no other
LANGUAGES = [("en", "English"), ("de", "Deutsch")]
FORMAT_MODULE_PATH = "studio.formats"
LOCALE_PATHS = [BASE_DIR / "studio" / "locale"]
TIME_ZONE = env.str("TIME_ZONE", default="UTC")
USE_TZ = True

# --- e-mail ----------------------------------------------------------------------------------------
vars().update(env.email_url("EMAIL_URL", default="consolemail://"))
EMAIL_TIMEOUT = 30  # a mail server that takes a call and says nothing must not hold letters up for ever
DEFAULT_FROM_EMAIL = env.str("FROM_EMAIL", default="reeds@localhost")

LOG_LEVEL = env.str("LOG_LEVEL", default="WARNING")
LOG_FORMAT = env.one_of("LOG_FORMAT", ("plain", "json"))
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {
        "hide_links": {"()": "studio.logs.HideLinks"},
        "refusals": {"()": "studio.logs.RefusalsInALine"},
    },
    "formatters": {"plain": {"()": "studio.logs.Plain"}, "json": {"()": "studio.logs.Json"}},
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "filters": ["hide_links", "refusals"],
            "formatter": LOG_FORMAT,
        }
    },
    # Django's own handlers would repeat each line past ours
    "loggers": {"django": {"handlers": [], "level": "NOTSET"}},
    "root": {"handlers": ["console"], "level": LOG_LEVEL},
}

DEFAULT_EXCEPTION_REPORTER_FILTER = "studio.logs.HideWhatWasSent"

# every variable that is read, for those who start us with a clean environment and for the guide
ENVIRONMENT = tuple(env.asked)
