"""Settings: everything that differs between machines comes from the environment.

It starts with no variable set: SQLite and a generated secret key in the data
folder, debug off. README.md lists every variable.
"""

import secrets
from pathlib import Path

import environ
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

env = environ.Env()

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.str("WINTERING_DATA", default=str(BASE_DIR / ".data"))).resolve()


def _flag(name: str) -> bool:
    """A switch: unset is off, and anything but a plain yes or no stops the start."""
    text = env.str(name, default="no").strip().lower()
    if text in {"1", "yes", "true", "on"}:
        return True
    if text in {"", "0", "no", "false", "off"}:
        return False
    raise ImproperlyConfigured(f"{name} is '{text}': write yes or no.")


def _secret_key() -> str:
    """The key from the environment, or one made once and kept in the data folder."""
    given = env.str("WINTERING_SECRET_KEY", default="")
    if given:
        return given
    path = DATA_DIR / "secret_key"
    try:
        with path.open("x", encoding="ascii") as file:
            path.chmod(0o600)
            file.write(secrets.token_urlsafe(50))
    except FileExistsError:
        pass
    return path.read_text(encoding="ascii").strip()


def _make_data_folder() -> None:
    try:
        DATA_DIR.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise ImproperlyConfigured(
            f"The data folder {DATA_DIR} cannot be made ({error.strerror}). "
            "Set WINTERING_DATA to a folder that can be written to."
        ) from error


_make_data_folder()

DEBUG = _flag("WINTERING_DEBUG")
SECRET_KEY = _secret_key()
ALLOWED_HOSTS = env.list("WINTERING_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.list("WINTERING_ORIGINS", default=[])

# Behind a front end that speaks https; off for a machine in the potting shed.
IS_HTTPS = _flag("WINTERING_HTTPS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = IS_HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if IS_HTTPS else None
SECURE_HSTS_SECONDS = 31_536_000 if IS_HTTPS else 0
SECURE_REFERRER_POLICY = "same-origin"

INSTALLED_APPS = [
    "wintering.people",
    "wintering.clients",
    "wintering.trees",
    "wintering.frames",
    "wintering.climate",
    "wintering.stays",
    "wintering.forecast",
    "wintering.care",
    "wintering.web",
    "wintering.feed",
    "wintering.printing",
    "wintering.ingest",
    "wintering.api",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_tables2",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "wintering.web.middleware.SignInRequired",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "wintering.web.middleware.LocalTime",
]

ROOT_URLCONF = "wintering.urls"
WSGI_APPLICATION = "wintering.wsgi.application"
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
            ],
        },
    },
]

DATABASES = {
    "default": env.db_url(
        "DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'wintering.db'}"
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # Readers go on while one writer works; a second writer waits instead of failing.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL",
    }
    # Kept open: closing the last connection writes all that waits into the main file,
    # which took ten times as long as a logger's post.
    DATABASES["default"]["CONN_MAX_AGE"] = None
    # Tests use a file too: two people at once cannot be tried in memory.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.db")}

AUTH_USER_MODEL = "people.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
LOGIN_URL = "web:sign-in"
LOGIN_REDIRECT_URL = "web:today"
LOGOUT_REDIRECT_URL = "web:sign-in"

DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = env.str("WINTERING_TIME_ZONE", default="UTC")

STATIC_URL = "/static/"
# Static files are few and served from where they lie: nothing to collect first.
WHITENOISE_USE_FINDERS = True

# Photos and kept log files are private: views serve them, no address does.
MEDIA_ROOT = DATA_DIR / "files"
PHOTO_LIMIT_MB = 20
LOG_LIMIT_MB = env.int("WINTERING_LOG_LIMIT_MB", default=200)
FILE_UPLOAD_PERMISSIONS = 0o600

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

DJANGO_TABLES2_TEMPLATE = "web/_table.html"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"no_secrets": {"()": "wintering.feed.logs.HideCalendarTokens"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "filters": ["no_secrets"]}
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "wintering": {"level": env.str("WINTERING_LOG_LEVEL", default="INFO")},
        "django.server": {"handlers": ["console"], "level": "INFO", "propagate": False},
    },
}
