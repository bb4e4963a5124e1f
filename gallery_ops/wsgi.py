"""Where does a web server enter? gunicorn gallery_ops.wsgi:application"""

import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gallery_ops.settings")
application = get_wsgi_application()
# Every page is loaded now: a fault shows at the start, and workers that are forked share it.
_ = get_resolver().url_patterns
