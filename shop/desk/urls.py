"""Every address of the desk: the pages that are read, and the forms that write."""

from . import pages_urls, records_urls

app_name = "desk"
urlpatterns = [*pages_urls.urlpatterns, *records_urls.urlpatterns]
